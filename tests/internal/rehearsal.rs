//! Findings of the rehearsal on jobs of several procedures, and correct jobs that must have none. The example of each
//! rule is tested in `tests/rules.rs`.

use super::sheets;
use super::support::{files, tree};
use crate::prose::{ThingKind, Verb};
use crate::tree::Memory;
use std::collections::BTreeMap;

/// Added to the machine of the tree `hand-pump`.
const MACHINE: &str = r#"
[fluid.water]
supply = "grease"
capacity = "1 L"
[fluid.prime]
supply = "grease"
found = "empty"
[valve.cock]
name = "cock"
shuts = "water"
[part.hose]
name = "hose"
carries = "water"
[part.lever]
name = "lever"
positions = ["inner hole", "outer hole"]
position = "inner hole"
[part.locknut]
name = "locknut"
thread = "M6"
[condition.water-on]
name = "water on"
lost-by = ["close:cock"]
[run]
needs = ["water-on"]
may-lack = ["prime", "cock"]
start = "Pull."
"#;

/// The tree `hand-pump` with procedures added. Each has an id, more lines of front matter, and steps.
fn shop(procedures: &[(&str, &str, &[&str])]) -> Memory {
    let mut tree_files: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    tree_files
        .get_mut("machines/hand-pump.toml")
        .unwrap()
        .extend(MACHINE.as_bytes());
    for (id, front, steps) in procedures {
        let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
        let text = format!(
            "+++\ntitle = \"{id}\"\nmachines = [\"hand-pump\"]\n{front}+++\n## Do\n\n{}",
            steps.concat()
        );
        tree_files.insert(format!("water/{id}.md"), text.into_bytes());
    }
    Memory::new(tree_files)
}

/// The findings: rule, file of the primary span, files of the other spans.
fn findings_of(world: &Memory) -> Vec<(String, String, Vec<String>)> {
    let sources = crate::read(world);
    let checked = crate::check_all(&sources);
    let path = |mark: &crate::finding::Mark| sources.tree.file(mark.span.file).path.clone();
    checked
        .findings
        .iter()
        .map(|finding| {
            let primary = finding.primary.as_ref().map(path).unwrap_or_default();
            (
                finding.rule.name.to_owned(),
                primary,
                finding.others.iter().map(path).collect(),
            )
        })
        .collect()
}

fn rules_broken_by(steps: &[&str]) -> Vec<String> {
    let findings = findings_of(&shop(&[("job", "", steps)]));
    findings.into_iter().map(|(rule, _, _)| rule).collect()
}

#[test]
fn a_procedure_without_findings_can_have_one_as_part_of_a_job() {
    let refill: (&str, &str, &[&str]) = ("refill", "", &["[](fill:water)"]);
    assert_eq!(findings_of(&shop(&[refill])), []);
    let strip: &[&str] = &[
        "[](close:cock)",
        "[](remove:hose)",
        "[](do:refill)",
        "[](fit:hose)",
        "[](open:cock)",
    ];
    let findings = findings_of(&shop(&[refill, ("strip", "", strip)]));
    let [(rule, file, other_files)] = findings.as_slice() else {
        panic!("expected one finding: {findings:?}");
    };
    assert_eq!(rule, "filled-into-open-system");
    // The primary span is the step with the fault, the other the earlier step that caused it.
    assert_eq!(file, "water/refill.md");
    assert_eq!(other_files, &["water/strip.md"]);
}

#[test]
fn a_fault_of_a_shared_procedure_is_reported_once_for_all_its_jobs() {
    let shared: (&str, &str, &[&str]) = ("shared", "", &["[](fit:hose)"]);
    let begin = "begin = [\"shared\"]\n";
    let world = shop(&[
        shared,
        ("one", begin, &["[](clean:hose)"]),
        ("two", begin, &["[](clean:hose)"]),
    ]);
    let sources = crate::read(&world);
    let checked = crate::check_all(&sources);
    let messages: Vec<String> = checked
        .findings
        .iter()
        .map(crate::finding::Finding::whole_message)
        .collect();
    assert_eq!(
        messages,
        ["`hose` is fitted but is already fitted in `one` on `hand-pump` and 2 other jobs"]
    );
}

#[test]
fn a_condition_ends_with_an_action_that_it_is_lost_by() {
    let run = &["[](confirm:water-on)", "[](run:engine)", "[](stop:engine)"][..];
    assert_eq!(rules_broken_by(run), [] as [&str; 0]);
    let shut = &[
        "[](confirm:water-on)",
        "[](close:cock)",
        "[](run:engine)",
        "[](stop:engine)",
        "[](open:cock)",
    ];
    assert_eq!(rules_broken_by(shut), ["not-ready-to-run"]);
}

#[test]
fn actions_without_effect_have_no_findings() {
    for steps in [
        // An open valve is opened, a full tank filled, a part inspected twice in other words, a known position noted.
        &[
            "[](open:cock)",
            "[](fill:water)",
            "[](inspect:hose)",
            "[Bend the hose](inspect:hose)",
        ][..],
        &["[](note:lever)", "[](remove:lever)", "[](fit:lever)"],
        // Empty at first: filled for the run and drained again.
        &["[](fill:prime)", "[](drain:prime)"],
        // A speed is set with the engine running.
        &[
            "[](confirm:water-on)",
            "[](run:engine)",
            "[](slacken:locknut)",
            "[](measure:stroke)",
            "[](adjust:stroke)",
            "[](measure:stroke)",
            "[](tighten:locknut)",
            "[](stop:engine)",
        ],
        // A part is renewed without removing the old one first: its text says how.
        &["[](renew:hose)", "[](inspect:hose)"],
    ] {
        assert_eq!(rules_broken_by(steps), [] as [&str; 0], "{steps:?}");
    }
}

#[test]
fn a_waiver_is_printed_and_an_unused_one_is_reported() {
    let moved = &[
        "[](remove:lever)",
        "[Set it one hole out](fit:lever/outer-hole). {waive=\"refitted-in-wrong-position: the town runs it slower\"}",
    ];
    let world = shop(&[("job", "", moved)]);
    assert_eq!(findings_of(&world), []);
    for data in sheets(&world, "job") {
        assert!(
            data.contains("Intentional: the town runs it slower."),
            "{data}"
        );
        assert!(data.contains("position: outer hole"), "{data}");
    }
    assert_eq!(
        rules_broken_by(&["[](remove:lever)", "[](fit:lever/outer-hole)"]),
        ["refitted-in-wrong-position"]
    );
    assert_eq!(
        rules_broken_by(&["[](clean:lever) {waive=\"part-left-off: dries\"}"]),
        ["unused-waiver"]
    );
    assert_eq!(
        rules_broken_by(&["[](remove:lever)", "[](fit:lever/outr-hole)"]),
        ["unknown-thing"]
    );
}

#[test]
fn things_left_undone_are_printed_on_the_sheet() {
    let front = "[left-undone]\nlever = \"the painter fits it\"\n";
    let world = shop(&[("job", front, &["[](remove:lever)"])]);
    assert_eq!(findings_of(&world), []);
    for data in sheets(&world, "job") {
        assert!(data.contains("Lever: the painter fits it"), "{data}");
    }
}

#[test]
fn tightening_stages_must_be_complete_and_in_order() {
    let rules_broken_by = |steps: &[&str]| {
        let mut tree_files: BTreeMap<String, Vec<u8>> =
            files(&tree("hand-pump")).into_iter().collect();
        let machine = tree_files.get_mut("machines/hand-pump.toml").unwrap();
        machine.extend(
            b"[part.head-bolt]\nname = \"head bolt\"\ncount = 4\nthread = \"M6\"\ndrive = \"hex 10 mm\"\n\
              stages = [\"5 N\xc2\xb7m \xc2\xb1 1 N\xc2\xb7m\", \"8 N\xc2\xb7m \xc2\xb1 1 N\xc2\xb7m\"]\npattern = \"crosswise\"\n",
        );
        let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
        let text = format!(
            "+++\ntitle = \"Head\"\nmachines = [\"hand-pump\"]\n+++\nWhy.\n\n## Do\n\n{}",
            steps.concat()
        );
        tree_files.insert("water/head.md".to_owned(), text.into_bytes());
        findings_of(&Memory::new(tree_files))
            .into_iter()
            .map(|(rule, _, _)| rule)
            .collect::<Vec<_>>()
    };
    let slack = "[](slacken:head-bolt)";
    let (first, second) = ("[](tighten:head-bolt/1)", "[](tighten:head-bolt/2)");
    assert!(rules_broken_by(&[slack, first, second]).is_empty());
    assert!(rules_broken_by(&[slack, "[](tighten:head-bolt)"]).is_empty());
    assert_eq!(rules_broken_by(&[slack, first]), ["fastener-left-loose"]);
    assert_eq!(rules_broken_by(&[slack, second]), ["stage-out-of-order"]);
    assert_eq!(
        rules_broken_by(&[slack, first, first, second]),
        ["stage-out-of-order"]
    );
    // Once more after it has settled.
    assert!(rules_broken_by(&[slack, first, second, second]).is_empty());
    assert_eq!(
        rules_broken_by(&[slack, first, second, first]),
        ["fastener-left-loose", "stage-out-of-order"]
    );
    assert_eq!(
        rules_broken_by(&[slack, "[](tighten:head-bolt/3)"]),
        ["unknown-thing"]
    );
}

/// Work after a test run ends the condition, so it must be confirmed before the next run.
#[test]
fn work_ends_a_condition_that_is_lost_by_work() {
    let work = "[Undo](slacken:locknut) and [do up](tighten:locknut) the locknut.";
    let clear = "[All is clear](confirm:clear).";
    let run = "[Run](run:engine), and [stop](stop:engine).";
    let rules_broken_by = |steps: &[&str]| {
        let mut tree_files: BTreeMap<String, Vec<u8>> =
            files(&tree("hand-pump")).into_iter().collect();
        let machine = tree_files.get_mut("machines/hand-pump.toml").unwrap();
        machine.extend(
            b"[part.locknut]\nname = \"locknut\"\nthread = \"M6\"\n[condition.clear]\nname = \"clear\"\n\
              lost-by = [\"work\"]\n[run]\nneeds = [\"clear\"]\nstart = \"Pull.\"\n",
        );
        let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
        let text = format!(
            "+++\ntitle = \"Try\"\nmachines = [\"hand-pump\"]\n+++\nWhy.\n\n## Do\n\n{}",
            steps.concat()
        );
        tree_files.insert("water/try.md".to_owned(), text.into_bytes());
        findings_of(&Memory::new(tree_files))
            .into_iter()
            .map(|(rule, _, _)| rule)
            .collect::<Vec<_>>()
    };
    assert!(rules_broken_by(&[clear, run, work, clear, run]).is_empty());
    assert_eq!(
        rules_broken_by(&[clear, run, work, run]),
        ["not-ready-to-run"]
    );
}

#[test]
fn an_action_on_an_unknown_thing_is_reported_and_left_out_of_the_job() {
    for verb in Verb::ALL {
        // References have a rule of their own.
        if verb.takes() == ThingKind::Place {
            continue;
        }
        let step = format!("[]({}:nosuch)", verb.word());
        let step = match verb {
            Verb::Caution => format!("Look. {step}"),
            _ => step,
        };
        let sources = crate::read(&shop(&[("wrong", "", &[&step])]));
        let checked = crate::check_all(&sources);
        let rules: Vec<&str> = checked
            .findings
            .iter()
            .map(|finding| finding.rule.name)
            .collect();
        assert_eq!(rules, ["unknown-thing"], "{step}");
        let mut jobs = checked.jobs.iter().map(|rehearsed| &rehearsed.job);
        // The procedure may have no job at all.
        if let Some(job) = jobs.find(|job| job.procedure.id == "wrong") {
            assert!(!job.is_complete, "{step}");
            assert!(job.steps().all(|step| step.actions.is_empty()), "{step}");
        }
    }
}
