//! What the rehearsal says of whole jobs, and where it must keep quiet. Each
//! rule's own example is in `rules.rs`; here procedures are put together.

use super::sheets;
use super::support::{files, tree};
use crate::prose::{ThingKind, Verb};
use crate::tree::Memory;
use std::collections::BTreeMap;

/// What is added to the machine of the tree `hand-pump`.
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
start = "Pull."
"#;

/// The clean tree with some procedures added, each its front matter's further lines and its steps.
fn shop(procedures: &[(&str, &str, &[&str])]) -> Memory {
    let mut all: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    all.get_mut("machines/hand-pump.toml")
        .unwrap()
        .extend(MACHINE.as_bytes());
    for (id, front, steps) in procedures {
        let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
        let text = format!(
            "+++\ntitle = \"{id}\"\nmachines = [\"hand-pump\"]\n{front}+++\n## Do\n\n{}",
            steps.concat()
        );
        all.insert(format!("water/{id}.md"), text.into_bytes());
    }
    Memory::new(all)
}

/// Rule, file of the fault, files of what set it up.
fn found(world: &Memory) -> Vec<(String, String, Vec<String>)> {
    let sources = crate::read(world);
    let checked = crate::check_all(&sources);
    let path = |mark: &crate::finding::Mark| sources.tree.file(mark.span.file).path.clone();
    checked
        .findings
        .iter()
        .map(|one| {
            let primary = one.primary.as_ref().map(path).unwrap_or_default();
            (
                one.rule.name.to_owned(),
                primary,
                one.others.iter().map(path).collect(),
            )
        })
        .collect()
}

fn rules(steps: &[&str]) -> Vec<String> {
    let all = found(&shop(&[("job", "", steps)]));
    all.into_iter().map(|(rule, _, _)| rule).collect()
}

#[test]
fn a_procedure_that_is_safe_alone_is_found_unsafe_in_the_chain_it_is_done_in() {
    let refill: (&str, &str, &[&str]) = ("refill", "", &["[](fill:water)"]);
    assert_eq!(found(&shop(&[refill])), []);
    let strip: &[&str] = &[
        "[](close:cock)",
        "[](remove:hose)",
        "[](do:refill)",
        "[](fit:hose)",
        "[](open:cock)",
    ];
    let all = found(&shop(&[refill, ("strip", "", strip)]));
    let [(rule, at, set_up)] = all.as_slice() else {
        panic!("one fault, one finding: {all:?}");
    };
    assert_eq!(rule, "filled-into-open-system");
    // The step that does it, and the earlier one that set it up, each in its own file.
    assert_eq!(at, "water/refill.md");
    assert_eq!(set_up, &["water/strip.md"]);
}

#[test]
fn a_fault_of_a_shared_procedure_is_said_once_for_all_jobs_it_is_in() {
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
        ["`hose` is fitted, but is already fitted in `one` on `hand-pump` and 2 other jobs"]
    );
}

#[test]
fn a_condition_is_given_up_by_what_breaks_it() {
    let run = &["[](confirm:water-on)", "[](run:engine)", "[](stop:engine)"][..];
    assert_eq!(rules(run), [] as [&str; 0]);
    let shut = &[
        "[](confirm:water-on)",
        "[](close:cock)",
        "[](run:engine)",
        "[](stop:engine)",
        "[](open:cock)",
    ];
    assert_eq!(rules(shut), ["run-not-ready"]);
}

#[test]
fn what_changes_nothing_is_no_fault() {
    for steps in [
        // Open what is open, fill what is full, look twice, note what is known.
        &[
            "[](open:cock)",
            "[](fill:water)",
            "[](inspect:hose)",
            "[](inspect:hose)",
        ][..],
        &["[](note:lever)", "[](remove:lever)", "[](fit:lever)"],
        // Found empty: filled for the run and let out again.
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
        // A new part without taking the old one off first: the words say how.
        &["[](renew:hose)", "[](inspect:hose)"],
    ] {
        assert_eq!(rules(steps), [] as [&str; 0], "{steps:?}");
    }
}

#[test]
fn a_waiver_is_printed_and_one_that_waives_nothing_is_found() {
    let moved = &[
        "[](remove:lever)",
        "[Set it one hole out](fit:lever/outer-hole). {waive=\"refitted-elsewhere: the town runs it slower\"}",
    ];
    let world = shop(&[("job", "", moved)]);
    assert_eq!(found(&world), []);
    for data in sheets(&world, "job") {
        assert!(
            data.contains("Intentional: the town runs it slower."),
            "{data}"
        );
        assert!(data.contains("position: outer hole"), "{data}");
    }
    assert_eq!(
        rules(&["[](remove:lever)", "[](fit:lever/outer-hole)"]),
        ["refitted-elsewhere"]
    );
    assert_eq!(
        rules(&["[](clean:lever) {waive=\"part-left-off: dries\"}"]),
        ["unused-waiver"]
    );
    assert_eq!(
        rules(&["[](remove:lever)", "[](fit:lever/outr-hole)"]),
        ["unknown-thing"]
    );
}

#[test]
fn what_is_left_on_purpose_is_said_on_the_sheet() {
    let front = "[left-undone]\nlever = \"the painter fits it\"\n";
    let world = shop(&[("job", front, &["[](remove:lever)"])]);
    assert_eq!(found(&world), []);
    for data in sheets(&world, "job") {
        assert!(data.contains("Lever: the painter fits it"), "{data}");
    }
}

#[test]
fn stages_are_gone_through_in_turn_and_to_the_end() {
    let staged = |steps: &[&str]| {
        let mut all: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
        let machine = all.get_mut("machines/hand-pump.toml").unwrap();
        machine.extend(
            b"[part.head-bolt]\nname = \"head bolt\"\ncount = 4\nthread = \"M6\"\ndrive = \"hex 10 mm\"\n\
              stages = [\"5 N\xc2\xb7m \xc2\xb1 1 N\xc2\xb7m\", \"8 N\xc2\xb7m \xc2\xb1 1 N\xc2\xb7m\"]\npattern = \"crosswise\"\n",
        );
        let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
        let text = format!(
            "+++\ntitle = \"Head\"\nmachines = [\"hand-pump\"]\n+++\nWhy.\n\n## Do\n\n{}",
            steps.concat()
        );
        all.insert("water/head.md".to_owned(), text.into_bytes());
        found(&Memory::new(all))
            .into_iter()
            .map(|(rule, _, _)| rule)
            .collect::<Vec<_>>()
    };
    let slack = "[](slacken:head-bolt)";
    let (first, second) = ("[](tighten:head-bolt/1)", "[](tighten:head-bolt/2)");
    assert!(staged(&[slack, first, second]).is_empty());
    assert!(staged(&[slack, "[](tighten:head-bolt)"]).is_empty());
    assert_eq!(staged(&[slack, first]), ["fastener-left-loose"]);
    assert_eq!(staged(&[slack, second]), ["stage-out-of-order"]);
    assert_eq!(
        staged(&[slack, first, first, second]),
        ["stage-out-of-order"]
    );
    assert_eq!(
        staged(&[slack, "[](tighten:head-bolt/3)"]),
        ["unknown-thing"]
    );
}

/// A test run in the middle of a job: whoever works on after it clears up again before the next.
#[test]
fn any_work_takes_away_that_tools_and_people_are_clear() {
    let work = "[Undo](slacken:locknut) and [do up](tighten:locknut) the locknut.";
    let clear = "[All is clear](confirm:clear).";
    let run = "[Run](run:engine), and [stop](stop:engine).";
    let ran = |steps: &[&str]| {
        let mut all: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
        let machine = all.get_mut("machines/hand-pump.toml").unwrap();
        machine.extend(
            b"[part.locknut]\nname = \"locknut\"\nthread = \"M6\"\n[condition.clear]\nname = \"clear\"\n\
              lost-by = [\"work\"]\n[run]\nneeds = [\"clear\"]\nstart = \"Pull.\"\n",
        );
        let steps: Vec<String> = steps.iter().map(|step| format!("1. {step}\n")).collect();
        let text = format!(
            "+++\ntitle = \"Try\"\nmachines = [\"hand-pump\"]\n+++\nWhy.\n\n## Do\n\n{}",
            steps.concat()
        );
        all.insert("water/try.md".to_owned(), text.into_bytes());
        found(&Memory::new(all))
            .into_iter()
            .map(|(rule, _, _)| rule)
            .collect::<Vec<_>>()
    };
    assert!(ran(&[clear, run, work, clear, run]).is_empty());
    assert_eq!(ran(&[clear, run, work, run]), ["run-not-ready"]);
}

#[test]
fn an_action_on_an_unknown_thing_is_reported_and_is_in_no_job() {
    for verb in Verb::ALL {
        // Where references lead has a rule of its own.
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
        let found: Vec<&str> = checked.findings.iter().map(|one| one.rule.name).collect();
        assert_eq!(found, ["unknown-thing"], "{step}");
        let mut jobs = checked.jobs.iter().map(|one| &one.job);
        // Of a procedure that does what there is not, no job is made.
        if let Some(job) = jobs.find(|job| job.procedure.id == "wrong") {
            assert!(!job.is_complete, "{step}");
            assert!(job.steps().all(|step| step.actions.is_empty()), "{step}");
        }
    }
}
