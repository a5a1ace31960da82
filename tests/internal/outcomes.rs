//! Steps that depend on what is found, and steps that are repeated.

use super::case::{Case, ShownFinding, assert_clean, assert_finding, expect_finding};
use crate::tree::Memory;

/// A float that is set or renewed, and a strainer that is renewed if it is torn.
const MACHINE: &str = r#"
[part.bowl]
name = "bowl"
[part.needle]
name = "needle"
behind = ["bowl"]
[part.strainer]
name = "strainer"
reuse = "whole, no tear"
[part.lamp]
name = "lamp"
single-use = true
[reading.height]
name = "float height"
limits = "18 mm to 19 mm"
without = ["bowl"]
[reading.pressure]
name = "pressure"
limits = "at least 2 bar"
"#;

/// A job of these steps, each with its marks.
fn job(steps: &[&str]) -> Case {
    named("job", steps)
}

fn named(id: &str, steps: &[&str]) -> Case {
    let mut case = Case::on(MACHINE);
    add(&mut case, id, "", steps, "");
    case
}

fn add(case: &mut Case, id: &str, front: &str, steps: &[&str], more: &str) {
    let lines = steps.iter().map(|step| match step.split_once(' ') {
        Some((action, marks)) => format!("1. []({action}) {{{marks}}}\n"),
        None => format!("1. []({step})\n"),
    });
    let lines: String = lines.collect();
    let text =
        format!("+++\ntitle = \"{id}\"\nmachines = [\"case\"]\n{front}+++\n## Do\n\n{lines}{more}");
    case.world
        .insert(format!("case/{id}.md"), text.into_bytes());
}

/// The rules of the findings and their messages, with the source of the primary span.
fn found(case: &Case) -> Vec<(String, String)> {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter();
    findings
        .map(|finding| (finding.rule.name.to_owned(), finding.message.clone()))
        .collect()
}

#[test]
fn a_correct_job_is_clean_in_every_course() {
    for steps in [
        // A part is renewed on one outcome and used again on the other.
        &[
            "remove:strainer",
            "inspect:strainer",
            "renew:strainer if=\"strainer.renew\"",
            "fit:strainer if=\"strainer.reuse\"",
        ][..],
        // Work that is needed on one outcome only, and undoes itself.
        &[
            "remove:bowl",
            "measure:height",
            "adjust:height if=\"height.out\"",
            "measure:height if=\"height.out\"",
            "fit:bowl",
        ],
        &[
            "remove:bowl",
            "measure:height",
            "remove:needle if=\"height.over\"",
            "fit:needle if=\"height.over\"",
            "fit:bowl",
        ],
        // Two things at once.
        &[
            "remove:bowl",
            "measure:height",
            "adjust:height if=\"height.out\"",
            "measure:height if=\"height.out\"",
            "remove:strainer",
            "inspect:strainer",
            "fit:strainer if=\"strainer.reuse\"",
            "renew:strainer if=\"strainer.renew\"",
            "fit:bowl",
        ],
        // Until it is right.
        &[
            "remove:bowl",
            "measure:height",
            "adjust:height #bend if=\"height.out\"",
            "measure:height if=\"height.out\" until=\"height.within\" back-to=\"bend\" at-most=\"3\"",
            "fit:bowl",
        ],
        &["measure:pressure", "clean:lamp if=\"pressure.under\""],
    ] {
        let case = job(steps);
        assert_eq!(found(&case), [], "{steps:?}");
    }
}

#[test]
fn each_course_is_rehearsed_alone_and_all_together() {
    // Only one of the courses has the fault.
    for (steps, rule, at, with) in [
        (
            &[
                "remove:strainer",
                "inspect:strainer",
                "renew:strainer if=\"strainer.renew\"",
            ][..],
            "part-left-off",
            "remove:strainer",
            "",
        ),
        (
            &[
                "remove:strainer",
                "inspect:strainer",
                "fit:strainer if=\"strainer.reuse\"",
            ],
            "part-left-off",
            "remove:strainer",
            "(with `strainer.renew`)",
        ),
        (
            &[
                "remove:bowl",
                "measure:height",
                "remove:needle if=\"height.over\"",
                "fit:bowl",
            ],
            "fitted-before-part-behind",
            "fit:bowl",
            "(with `height.over`)",
        ),
        (
            &[
                "remove:bowl",
                "measure:height",
                "adjust:height if=\"height.under\"",
                "fit:bowl",
            ],
            "not-measured-after-adjusting",
            "adjust:height",
            "(with `height.under`)",
        ),
        // Neither alone, but both.
        (
            &[
                "remove:bowl",
                "measure:height",
                "inspect:strainer",
                "remove:needle if=\"height.over\"",
                "remove:needle if=\"strainer.renew\"",
                "fit:needle",
                "fit:bowl",
            ],
            "part-already-removed",
            "remove:needle",
            "(with `height.over` and `strainer.renew`)",
        ),
        // The second time round.
        (
            &[
                "remove:bowl",
                "measure:height",
                "adjust:height #bend if=\"height.out\"",
                "remove:needle",
                "measure:height if=\"height.out\" until=\"height.within\" back-to=\"bend\" at-most=\"3\"",
                "fit:needle",
                "fit:bowl",
            ],
            "part-already-removed",
            "remove:needle",
            "a repetition)",
        ),
    ] {
        let case = job(steps);
        let messages = found(&case);
        let is_said = messages
            .iter()
            .any(|(found, message)| found == rule && message.ends_with(with));
        assert!(is_said, "{steps:?} {messages:#?}");
        let at_step: Vec<ShownFinding> = case.findings();
        let at = format!("job 1. []({at})");
        let is_there = at_step.iter().any(|(found, place, _)| {
            found == rule
                && (place.starts_with(&at)
                    || *place == at.replace("job 1. [](", "job ").trim_end_matches(')'))
        });
        assert!(is_there, "{steps:?} {at_step:#?}");
    }
}

#[test]
fn an_outcome_has_to_be_found_out_first() {
    for steps in [
        &[
            "clean:strainer if=\"height.over\"",
            "remove:bowl",
            "measure:height",
            "fit:bowl",
        ][..],
        &["clean:strainer if=\"strainer.renew\"", "inspect:strainer"],
        &["clean:lamp if=\"strainer.renew\""],
    ] {
        let findings = job(steps).findings();
        let [(rule, place, _)] = findings.as_slice() else {
            panic!("{steps:?} {findings:#?}");
        };
        assert_eq!(rule, "outcome-not-known");
        assert!(place.contains("if="), "{place}");
    }
    // Nothing in the loop measures it.
    let looping = job(&[
        "remove:bowl",
        "measure:height",
        "clean:needle #bend",
        "clean:strainer until=\"height.within\" back-to=\"bend\" at-most=\"3\"",
        "fit:bowl",
    ]);
    let rules: Vec<String> = looping
        .findings()
        .into_iter()
        .map(|(rule, ..)| rule)
        .collect();
    assert!(
        rules.iter().any(|rule| rule == "outcome-not-known"),
        "{rules:?}"
    );
}

#[test]
fn an_outcome_has_to_be_possible() {
    for (steps, is_possible) in [
        (
            ["measure:pressure", "clean:strainer if=\"pressure.over\""],
            false,
        ),
        (
            ["measure:pressure", "clean:strainer if=\"pressure.out\""],
            true,
        ),
        (
            ["measure:pressure", "clean:strainer if=\"pressure.within\""],
            true,
        ),
        (["inspect:lamp", "clean:strainer if=\"lamp.reuse\""], false),
        (["inspect:bowl", "clean:strainer if=\"bowl.renew\""], false),
        (
            ["inspect:strainer", "clean:strainer if=\"strainer.renew\""],
            true,
        ),
    ] {
        let rules: Vec<String> = job(&steps)
            .findings()
            .into_iter()
            .map(|(rule, ..)| rule)
            .collect();
        let is_reported = rules.iter().any(|rule| rule == "outcome-impossible");
        assert_eq!(is_reported, !is_possible, "{steps:?} {rules:?}");
    }
}

#[test]
fn marks_that_can_not_be_read_are_reported() {
    for (marks, rule) in [
        ("if=\"height.above\"", "unknown-mark"),
        ("if=\"height\"", "unknown-mark"),
        ("if=\"\"", "unknown-mark"),
        ("if", "unknown-mark"),
        ("if=\"height.over\" if=\"height.under\"", "unknown-mark"),
        ("if=\"hight.over\"", "unknown-thing"),
        ("if=\"bowls.renew\"", "unknown-thing"),
        ("if=\"height.renew\"", "unknown-thing"),
        ("until=\"height.within\"", "unknown-mark"),
        (
            "until=\"height.within\" back-to=\"a\" at-most=\"1\"",
            "unknown-mark",
        ),
        (
            "until=\"height.within\" back-to=\"a\" at-most=\"99\"",
            "unknown-mark",
        ),
        (
            "until=\"height.within\" back-to=\"a\" at-most=\"lots\"",
            "unknown-mark",
        ),
        (
            "until=\"height.in\" back-to=\"a\" at-most=\"3\"",
            "unknown-mark",
        ),
        (
            "until=\"height.within\" back-to=\"nowhere\" at-most=\"3\"",
            "unresolved-reference",
        ),
        ("back-to=\"a\"", "unknown-mark"),
    ] {
        let findings = job(&[
            "remove:bowl",
            "measure:height #a",
            &format!("clean:strainer {marks}"),
            "fit:bowl",
        ])
        .findings();
        let [(found, ..)] = findings.as_slice() else {
            panic!("{marks}: {findings:#?}");
        };
        assert_eq!(found, rule, "{marks}");
    }
}

/// The actions of a job, each with its outcome.
fn actions(case: &Case) -> String {
    let sources = crate::read(&Memory::new(case.world.clone()));
    let checked = crate::check_all(&sources);
    let mut jobs = checked.jobs.iter();
    let rehearsed = jobs
        .find(|rehearsed| rehearsed.job.procedure.id == "job")
        .unwrap();
    let steps = rehearsed.job.steps().flat_map(|step| {
        let when = step.when.map(|when| format!("?{}", when.written()));
        let when = when.unwrap_or_default();
        let actions = step.all_actions();
        actions.map(move |action| format!("{}:{}{when}", action.verb.word(), action.thing.key()))
    });
    steps.collect::<Vec<_>>().join(" ")
}

#[test]
fn a_derived_reassembly_depends_on_what_its_steps_undo() {
    let reverse = "\n## Back {.reverse}\n";
    for (steps, written, wanted) in [
        // What came off on an outcome goes back on that outcome.
        (
            &[
                "remove:bowl",
                "measure:height",
                "remove:needle if=\"height.over\"",
            ][..],
            "",
            "fit:needle?height.over fit:bowl",
        ),
        // What was put back on one outcome is put back on the other.
        (
            &[
                "remove:strainer",
                "inspect:strainer",
                "renew:strainer if=\"strainer.renew\"",
            ],
            "",
            "fit:strainer?strainer.reuse",
        ),
        // What was put back on each of its outcomes is on.
        (
            &[
                "remove:bowl",
                "remove:strainer",
                "inspect:strainer",
                "renew:strainer if=\"strainer.renew\"",
                "fit:strainer if=\"strainer.reuse\"",
            ],
            "",
            "fit:strainer?strainer.reuse fit:bowl",
        ),
        // It is off again if it is taken off after that.
        (
            &[
                "remove:strainer",
                "inspect:strainer",
                "fit:strainer if=\"strainer.reuse\"",
                "renew:strainer if=\"strainer.renew\"",
                "remove:strainer",
                "inspect:strainer",
                "remove:bowl",
            ],
            "",
            "fit:bowl fit:strainer",
        ),
        // A written step that depends on an outcome replaces the derived one on that outcome.
        (
            &["remove:strainer", "inspect:strainer"],
            "1. [](renew:strainer) {if=\"strainer.renew\"}\n",
            "fit:strainer?strainer.reuse renew:strainer?strainer.renew",
        ),
        (
            &["remove:strainer", "inspect:strainer"],
            "1. [](renew:strainer) {if=\"strainer.renew\"}\n2. [](fit:strainer) {if=\"strainer.reuse\"}\n",
            "renew:strainer?strainer.renew fit:strainer?strainer.reuse",
        ),
        (
            &["remove:strainer", "inspect:strainer"],
            "1. [](renew:strainer)\n",
            "renew:strainer",
        ),
    ] {
        let mut case = Case::on(MACHINE);
        add(
            &mut case,
            "job",
            "",
            steps,
            &format!("{reverse}\n{written}"),
        );
        assert_eq!(found(&case), [], "{steps:?}");
        let all = actions(&case);
        assert!(all.ends_with(&format!(" {wanted}")), "{steps:?}: {all}");
    }
}

#[test]
fn a_pair_is_rehearsed_in_each_course_of_its_removal() {
    let off = [
        "remove:bowl",
        "measure:height",
        "remove:needle if=\"height.over\"",
    ];
    let mut case = Case::on(MACHINE);
    add(&mut case, "off", "", &off, "");
    add(
        &mut case,
        "job",
        "reverses = \"off\"\n",
        &["fit:needle if=\"height.over\"", "fit:bowl"],
        "",
    );
    assert_clean(&case);
    add(&mut case, "job", "reverses = \"off\"\n", &["fit:bowl"], "");
    assert_finding(
        &case,
        "fitted-before-part-behind",
        "job fit:bowl",
        "off remove:needle",
    );
    assert!(expect_finding(&case, "part-left-off", "job fit:bowl", "").is_err());
}

#[test]
fn sheets_say_when_a_step_is_done_and_what_may_be_needed() {
    let case = job(&[
        "remove:bowl",
        "measure:height",
        "adjust:height #bend if=\"height.out\"",
        "measure:height if=\"height.out\" until=\"height.within\" back-to=\"bend\" at-most=\"3\"",
        "fit:bowl",
        "remove:strainer",
        "inspect:strainer",
        "renew:strainer if=\"strainer.renew\"",
        "fit:strainer if=\"strainer.reuse\"",
    ]);
    for sheet in case.sheets("job") {
        let sheet = sheet.replace('\u{a0}', " ");
        assert!(
            sheet.contains("Only if the float height is out of its limits:"),
            "{sheet}"
        );
        assert!(sheet.contains("Only if you renew the strainer:"), "{sheet}");
        assert!(sheet.contains("Repeat from step 3 until the float height is within its limits, at most 3 times in all."), "{sheet}");
    }
    let [shop_sheet, checklist] = &case.sheets("job")[..] else {
        panic!("two sheets");
    };
    assert!(!shop_sheet.contains("\"to-fill\":true") && checklist.contains("\"to-fill\":true"));
    assert!(checklist.contains("\"outcomes\":[\"under\",\"over\"]"));
}

#[test]
fn a_fault_table_depends_on_no_outcome() {
    let mut case = Case::on(MACHINE);
    case.add(
        "faults/dry.md",
        "+++\ntitle = \"Dry\"\nmachines = [\"case\"]\n+++\nIt is dry.\n\n## Causes\n\n1. The strainer is blocked. {if=\"strainer.renew\"}\n   - [](inspect:strainer)\n   - Clean it.\n",
    );
    let rules: Vec<String> = case.findings().into_iter().map(|(rule, ..)| rule).collect();
    assert_eq!(rules, ["unknown-mark"]);
}

#[test]
fn a_step_does_not_do_the_opposite_of_what_was_found() {
    let of_part = |first: &str, second: &str| {
        let (first, second) = (
            format!("renew:strainer if=\"strainer.{first}\""),
            format!("fit:strainer if=\"strainer.{second}\""),
        );
        job(&["remove:strainer", "inspect:strainer", &first, &second])
    };
    let of_reading = |until: &str| {
        let last = format!(
            "measure:height if=\"height.out\" until=\"height.{until}\" back-to=\"bend\" at-most=\"3\""
        );
        job(&[
            "remove:bowl",
            "measure:height",
            "adjust:height #bend if=\"height.out\"",
            &last,
            "fit:bowl",
        ])
    };
    for case in [
        of_part("renew", "reuse"),
        of_reading("within"),
        of_reading("not-over"),
        of_reading("not-under"),
    ] {
        assert_clean(&case);
    }
    for case in [
        of_part("reuse", "renew"),
        of_reading("out"),
        of_reading("over"),
        of_reading("under"),
    ] {
        let rules: Vec<String> = found(&case).into_iter().map(|(rule, _)| rule).collect();
        assert_eq!(rules, ["contrary-to-outcome"]);
    }
}
