//! The manual page of each rule has all its sections, and its example breaks exactly this rule.
//!
//! An example lists the files that differ from the tree `hand-pump`: `=== path` starts the content of a file,
//! `=== + path` text to append to one. `=== bare` removes all files, `=== on` gives the day of the check. The tree
//! without the example has no findings.

#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

#[path = "support/example.rs"]
mod example;
mod support;

use benchleaf::finding::{Finding, Level, Rule};
use benchleaf::report;
use benchleaf::tree::Memory;
use example::{check, example, findings_of};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use support::{files, root, tree};

/// Rules that no tree of text files can break. `cli.rs`, `demo.rs` and `review.rs` test them.
const NOT_OF_A_TREE: [&str; 2] = ["outdated-baseline", "unreadable-file"];

#[test]
fn the_base_tree_of_the_examples_has_no_findings() {
    let files = files(&tree("hand-pump")).into_iter().collect();
    assert_eq!(findings_of(files, None), []);
}

#[test]
fn every_page_has_all_sections() {
    for rule in benchleaf::rules() {
        let page = rule.page;
        let first = page.trim_start().lines().next().unwrap_or_default();
        assert!(
            first.trim_end().ends_with('.'),
            "the page of `{}` does not begin with a sentence",
            rule.name
        );
        for part in Rule::PARTS {
            let has = page.lines().any(|line| line.trim() == part);
            assert!(has, "`{}` has no `{part}`", rule.name);
        }
    }
}

#[test]
fn every_defined_rule_is_listed() {
    let known: BTreeSet<&str> = benchleaf::rules().iter().map(|rule| rule.name).collect();
    let mut defined = BTreeSet::new();
    for (path, bytes) in files(&root().join("src")) {
        let text = String::from_utf8(bytes).unwrap();
        for page in text.split("\nrule! {\n").skip(1) {
            let row = page
                .lines()
                .find(|line| line.starts_with("    \""))
                .unwrap();
            let name = row.split('"').nth(1).unwrap().to_owned();
            assert!(
                known.contains(name.as_str()),
                "src/{path} defines `{name}`, which no list has"
            );
            defined.insert(name);
        }
    }
    assert_eq!(defined.len(), known.len());
}

#[test]
fn rule_names_are_unique_and_in_kebab_case() {
    let rules = benchleaf::rules();
    for pair in rules.windows(2) {
        assert_ne!(pair[0].name, pair[1].name);
    }
    for rule in rules {
        let name = rule.name;
        assert!(
            name.bytes()
                .all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-'),
            "{name}"
        );
    }
}

#[test]
fn every_example_breaks_its_rule_and_no_other() {
    let mut without_example = Vec::new();
    let mut wrong = Vec::new();
    for rule in benchleaf::rules() {
        let Some(example) = example(rule) else {
            without_example.push(rule.name);
            continue;
        };
        let findings = findings_of(example.files, example.on);
        if !findings.contains(&(rule.name, rule.level)) {
            wrong.push(format!("the example of `{}` gives {findings:?}", rule.name));
        }
        let others: Vec<_> = findings
            .iter()
            .filter(|(name, _)| *name != rule.name)
            .collect();
        if !others.is_empty() {
            // An example has a single fault.
            wrong.push(format!(
                "the example of `{}` also gives {others:?}",
                rule.name
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(without_example, NOT_OF_A_TREE);
}

/// The rules whose example carries an edit.
const WITH_EDIT: [&str; 49] = [
    "adjusted-while-locked",
    "callout-not-on-machine",
    "confirmed-too-early",
    "duplicated-value",
    "energy-not-proved",
    "equipment-not-at-hand",
    "exposed-part-not-inspected",
    "fastener-left-loose",
    "filled-or-drained-while-closed",
    "fluid-condition-unmet",
    "full-line-opened",
    "ignition-still-live",
    "ill-formed-value",
    "isolation-not-secured",
    "left-not-as-found",
    "limits-not-calculated",
    "log-names-unknown-job",
    "missing-signature",
    "no-leak-check",
    "not-measured-after-adjusting",
    "not-measured-before-adjusting",
    "old-part-not-removed",
    "old-seal-reused",
    "part-left-off",
    "part-obstructed",
    "part-still-held",
    "plug-refitted-before-draining",
    "position-not-noted",
    "protection-not-worn",
    "reading-condition-unmet",
    "reading-of-drained-fluid",
    "refitted-dirty",
    "refitted-in-wrong-position",
    "refitted-uninspected",
    "relative-link",
    "run-without-measuring",
    "single-use-refitted",
    "space-in-address",
    "stage-out-of-order",
    "unknown-field",
    "unknown-mark",
    "unknown-name",
    "unknown-rule",
    "unknown-thing",
    "unknown-verb",
    "unread-link",
    "work-on-live-energy",
    "wrong-heading-level",
    "wrong-parts-for-reading",
];

/// A finding without what an edit may change: its place.
fn key(finding: &Finding) -> (&'static str, String, Vec<String>) {
    (
        finding.rule.name,
        finding.message.clone(),
        finding.jobs.clone(),
    )
}

/// Applies the edits of each finding of each example: the finding is gone, and no other appears.
#[test]
fn the_edits_of_an_example_fix_it() {
    let mut with_edit = Vec::new();
    let mut wrong = Vec::new();
    for rule in benchleaf::rules() {
        let Some(example) = example(rule) else {
            continue;
        };
        let sources = benchleaf::read(&Memory::new(example.files.clone()));
        let checked = check(&sources, example.on);
        let before: Vec<_> = checked.findings.iter().map(key).collect();
        for (index, finding) in checked.findings.iter().enumerate() {
            assert!(
                finding
                    .help
                    .as_deref()
                    .is_some_and(|help| !help.trim().is_empty()),
                "a finding of `{}` has no help",
                rule.name
            );
            if finding.edits.is_empty() {
                continue;
            }
            with_edit.push(rule.name);
            let mut edited = example.files.clone();
            for file in &sources.tree.files {
                if let Some(text) = finding.edited(file.id, &file.text) {
                    assert_ne!(text, file.text);
                    edited.insert(file.path.clone(), text.into_bytes());
                }
            }
            let sources = benchleaf::read(&Memory::new(edited));
            let after: Vec<_> = check(&sources, example.on)
                .findings
                .iter()
                .map(key)
                .collect();
            let is_left = after
                .iter()
                .filter(|found| **found == before[index])
                .count()
                >= before
                    .iter()
                    .filter(|found| **found == before[index])
                    .count();
            let new: Vec<_> = after
                .iter()
                .filter(|found| !before.contains(found))
                .collect();
            if is_left || !new.is_empty() {
                wrong.push(format!("{}: {:?}: {new:?}", rule.name, finding.edits));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    with_edit.dedup();
    assert_eq!(with_edit, WITH_EDIT);
}

/// The message, labels and help of each rule's example, as the terminal shows them.
#[test]
fn findings_have_the_pinned_texts() {
    let mut texts = String::new();
    for rule in benchleaf::rules() {
        if let Some(example) = example(rule) {
            let sources = benchleaf::read(&Memory::new(example.files));
            let checked = check(&sources, example.on);
            texts += &report::terminal(&sources.tree, &checked.findings, false);
            texts.push('\n');
        }
    }
    insta::assert_snapshot!("findings", texts);
}

#[derive(Deserialize)]
struct TypedStep {
    fact: String,
    step: String,
    expect: String,
    why: String,
}

#[derive(Deserialize)]
struct TypedSteps {
    typed: Vec<TypedStep>,
}

/// The steps of `reference/contradictions.toml`: a typed value that contradicts the machine is an error, one that only
/// repeats it is advice, and any other value gives nothing.
#[test]
fn typed_values_are_compared_with_the_machine() {
    let steps: TypedSteps = toml::from_str(include_str!("reference/contradictions.toml")).unwrap();
    assert_eq!(steps.typed.len(), 48);
    let mut wrong = Vec::new();
    for typed in &steps.typed {
        let mut tree_files: BTreeMap<String, Vec<u8>> =
            files(&tree("hand-pump")).into_iter().collect();
        let (supplies, machine) = typed
            .fact
            .split("\n[")
            .map(|table| format!("\n[{}", table.trim_start_matches('[')))
            .fold(
                (String::new(), String::new()),
                |(supplies, machine), table| {
                    if table.trim_start_matches(['\n', '[']).starts_with("supply.") {
                        (supplies + &table, machine)
                    } else {
                        (supplies, machine + &table)
                    }
                },
            );
        let head = "name = \"Tarn Rush\"\nbasis = \"invented\"\n";
        tree_files.insert(
            "machines/x1.toml".to_owned(),
            format!("{head}{machine}").into(),
        );
        let known = tree_files.entry("supplies.toml".to_owned()).or_default();
        known.extend(supplies.into_bytes());
        let page = format!(
            "+++\ntitle = \"Typed\"\nmachines = [\"x1\"]\n+++\n\nIt works.\n\n## Do\n\n1. {}\n",
            typed.step.trim_end()
        );
        tree_files.insert("air/typed.md".to_owned(), page.into());
        let found = findings_of(tree_files, None);
        let is_error = found.contains(&("value-contradicts-machine", Level::Error))
            || found.contains(&("values-disagree", Level::Error));
        let is_advice = found.contains(&("duplicated-value", Level::Advice));
        let result = match (is_error, is_advice) {
            (true, _) => "error",
            (false, true) => "advice",
            (false, false) => "none",
        };
        if result != typed.expect {
            wrong.push(format!(
                "{result} instead of {}: {} ({})",
                typed.expect, typed.step, typed.why
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The rules among `rules` that find a step on the hand pump, with tools added.
fn step_findings(step: &str, rules: &[&str]) -> Vec<&'static str> {
    let mut tree_files: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
    let tools = "[tool.spanner-10]\nname = \"10 mm spanner\"\nsize = \"10 mm\"\n\
        [tool.spanner-13]\nname = \"13 mm spanner\"\nsize = \"13 mm\"\n\
        [tool.gun]\nname = \"Impact wrench\"\n\
        [tool.brush]\nname = \"brush\"\n\
        [tool.torque]\nname = \"torque wrench\"\nrange = \"5 N·m to 25 N·m\"\n";
    let known = tree_files.entry("tools.toml".to_owned()).or_default();
    known.extend(tools.bytes());
    let page = format!(
        "+++\ntitle = \"Step\"\nmachines = [\"hand-pump\"]\n+++\n\n[rod]: clean:pump-rod\n\nIt works, as [it][rod] did.\n\n## Do\n\n1. {step}\n"
    );
    tree_files.insert("air/step.md".to_owned(), page.into());
    let found = findings_of(tree_files, None).into_iter();
    found
        .map(|(rule, _)| rule)
        .filter(|rule| rules.contains(rule))
        .collect()
}

#[test]
fn a_torque_is_not_given_with_a_plain_tool() {
    let rule = "torqued-without-torque-tool";
    for (step, is_found) in [
        (
            "With the [spanner](use:spanner-10), [tighten both nuts](tighten:cover-nut).",
            true,
        ),
        (
            "With the [gun](use:gun), [tighten both nuts](tighten:cover-nut).",
            true,
        ),
        (
            "Hold the gun with [both hands](use:gun) and [tighten the nuts](tighten:cover-nut).",
            true,
        ),
        (
            "With the [torque wrench](use:torque), [tighten both nuts](tighten:cover-nut).",
            false,
        ),
        (
            "Hold the stud with a [spanner](use:spanner-10) and [tighten the nuts](tighten:cover-nut).",
            false,
        ),
        (
            "[Spanner](use:spanner-10) on the stud, [wrench](use:torque) on the nut: [tighten it](tighten:cover-nut).",
            false,
        ),
        (
            "With the [brush](use:brush), clean the seat, then [tighten both nuts](tighten:cover-nut).",
            false,
        ),
        (
            "With the [spanner](use:spanner-10), [undo both nuts](slacken:cover-nut).",
            false,
        ),
    ] {
        let found = step_findings(step, &[rule]);
        assert_eq!(!found.is_empty(), is_found, "{step}");
    }
}

#[test]
fn the_text_of_an_action_names_its_own_part() {
    let rule = "text-names-other-part";
    for (step, is_found) in [
        ("[Wipe the pump rod](clean:cover).", true),
        ("[Look at the cover gasket](inspect:pump-rod).", true),
        ("[Take off the COVER](remove:pump-rod).", true),
        ("[Wipe the cover](clean:cover).", false),
        ("[Undo the nuts of the cover](remove:cover-nut).", false),
        ("[Take it off](remove:cover).", false),
        ("[Lift it off the pump rod](remove:cover).", false),
        ("[Turn them out of the cover](remove:pump-rod).", false),
        ("[Unscrew from the cover](remove:pump-rod).", false),
        ("[Push home, past the pump rod](fit:cover).", false),
        ("[Lift off the pump rod](remove:cover).", true),
        ("[Wipe the end, and the pump rod](clean:cover).", true),
        (
            "[Wipe it, and the end of the rod that it hides](clean:cover).",
            false,
        ),
        ("[Uncover the rod](remove:cover).", false),
        ("Past the pump rod, [wipe the cover](clean:cover).", false),
        ("[](clean:cover)", false),
        // The address is in a definition above.
        ("[Wipe all four pump rods][rod].", false),
    ] {
        let found = step_findings(step, &[rule]);
        assert_eq!(!found.is_empty(), is_found, "{step}");
    }
}
