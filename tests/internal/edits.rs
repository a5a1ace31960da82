//! Edits on real input: steps of the procedures of the demonstration shop are dropped from the text, one at a time. Where
//! a finding has edits, they are applied: that finding is gone, and nothing is found that was not found before.
//!
//! `cargo test --lib edits -- --nocapture` prints the figures. All steps take some minutes, so a few are dropped in
//! each run of the tests; with `EDITS_OF_ALL_STEPS=1` all are.

use super::support::{files, root};
use crate::finding::Finding;
use crate::procedure::Step;
use crate::tree::Memory;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Of how many steps one is dropped.
const ONE_OF: usize = 19;

/// The least percentage of findings that have edits. With all steps, 73 have; a few steps can have fewer, because a
/// step of a shared procedure gives many findings.
const WANTED_IN_100: usize = 40;

type Files = BTreeMap<String, Vec<u8>>;

/// A finding in one job, without its place, which an edit moves.
type Key = (&'static str, String, String);

/// A finding for each job that has it, because an edit may fix some of them.
fn keys(finding: &Finding) -> Vec<Key> {
    let key = |job: &str| (finding.rule.name, finding.message.clone(), job.to_owned());
    match finding.jobs.as_slice() {
        [] => vec![key("")],
        jobs => jobs.iter().map(|job| key(job)).collect(),
    }
}

/// What happened to the findings of one mutant.
#[derive(Default)]
pub(super) struct Outcome {
    found: usize,
    pub(super) with_edits: usize,
    pub(super) wrong: Vec<String>,
    without: Vec<&'static str>,
}

/// The files without a step.
fn without_step(files: &Files, path: &str, text: &str, step: &Step) -> Files {
    let mut mutant = files.clone();
    let range = step.span.range();
    let text = [&text[..range.start], &text[range.end..]].concat();
    mutant.insert(path.to_owned(), text.into_bytes());
    mutant
}

/// Applies the edits of each finding on some files.
pub(super) fn outcome(name: &str, files: &Files) -> Outcome {
    let mut outcome = Outcome::default();
    let sources = crate::read(&Memory::new(files.clone()));
    let before = crate::check(&sources).findings;
    let known: Vec<Key> = before.iter().flat_map(keys).collect();
    for finding in &before {
        outcome.found += 1;
        if finding.edits.is_empty() {
            outcome.without.push(finding.rule.name);
            continue;
        }
        outcome.with_edits += 1;
        let mut edited = files.clone();
        for file in &sources.tree.files {
            if let Some(text) = finding.edited(file.id, &file.text) {
                edited.insert(file.path.clone(), text.into_bytes());
            }
        }
        let after = crate::check(&crate::read(&Memory::new(edited))).findings;
        let after: Vec<Key> = after.iter().flat_map(keys).collect();
        let count = |keys: &[Key], wanted: &Key| keys.iter().filter(|key| *key == wanted).count();
        let own = keys(finding);
        let is_left = own
            .iter()
            .any(|own| count(&after, own) >= count(&known, own));
        let new: Vec<&Key> = after
            .iter()
            .filter(|found| count(&after, found) > count(&known, found))
            .collect();
        if is_left || !new.is_empty() {
            let edits = &finding.edits;
            outcome.wrong.push(format!(
                "{name}: {own:?}\n  {edits:?}\n  left: {is_left}, new: {new:?}"
            ));
        }
    }
    outcome
}

#[test]
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn the_edits_of_a_dropped_step_fix_it() {
    let files: Files = files(&root().join("procedures")).into_iter().collect();
    let sources = crate::read(&Memory::new(files.clone()));
    assert!(crate::check(&sources).findings.is_empty());
    let mut mutants: Vec<(String, Files)> = Vec::new();
    for procedure in &sources.procedures {
        let text = &sources.tree.file(procedure.file).text;
        for step in procedure.steps() {
            let line = text[step.span.range()].lines().next().unwrap_or_default();
            let name = format!("{}: {line}", procedure.path);
            mutants.push((name, without_step(&files, &procedure.path, text, step)));
        }
    }
    if std::env::var_os("EDITS_OF_ALL_STEPS").is_none() {
        mutants = mutants.into_iter().step_by(ONE_OF).collect();
    }
    let outcomes: Vec<Outcome> = mutants
        .par_iter()
        .map(|(name, files)| outcome(name, files))
        .collect();
    let found: usize = outcomes.iter().map(|outcome| outcome.found).sum();
    let with_edits: usize = outcomes.iter().map(|outcome| outcome.with_edits).sum();
    let mut without: BTreeMap<&str, usize> = BTreeMap::new();
    for rule in outcomes.iter().flat_map(|outcome| &outcome.without) {
        *without.entry(rule).or_default() += 1;
    }
    println!(
        "{} steps dropped, {found} findings, {with_edits} with edits; without: {without:?}",
        mutants.len()
    );
    let wrong: Vec<&String> = outcomes.iter().flat_map(|outcome| &outcome.wrong).collect();
    for wrong in &wrong {
        println!("{wrong}");
    }
    assert!(
        wrong.is_empty(),
        "{} of {with_edits} edits are wrong",
        wrong.len()
    );
    assert!(
        100 * with_edits >= WANTED_IN_100 * found,
        "{with_edits} of {found} findings have edits"
    );
}

/// The machines of the cases below: both have a lid that hides a rod, and only one has a spring behind the lid.
const MACHINE: &str = "name = \"Tarn {id}\"\nbasis = \"invented\"\n\
    [part.lid]\nname = \"lid\"\n\
    [part.rod]\nname = \"rod\"\npositions = [\"upper hole\", \"lower hole\"]\n";
const SPRING: &str = "[energy.spring]\nname = \"spring\"\nkind = \"spring\"\nisolate = \"Let it out.\"\n\
    prove = \"Push the lid.\"\nrestore = \"Wind it.\"\nendangers = [\"lid\"]\n";

/// The text of a procedure on two machines, with the edits of the first finding that has some.
fn edited(body: &str, machines: &str) -> String {
    let sprung = [MACHINE, SPRING].concat().replace("{id}", "Sorrel");
    let plain = MACHINE.replace("{id}", "Teasel");
    let text = format!(
        "+++\ntitle = \"Case\"\nmachines = [{machines}]\n+++\n\nIt sticks.\n\n## Do\n\n{body}"
    );
    let caution = "[caution.edge]\nsignal-word = \"caution\"\nhazard = \"Sharp edge.\"\n\
        consequence = \"It cuts.\"\navoid = \"Wear gloves.\"\n";
    let sources = crate::read(&Memory::new([
        ("shop.toml", "name = \"S\"\n"),
        ("cautions.toml", caution),
        ("machines/sprung.toml", sprung.as_str()),
        ("machines/plain.toml", plain.as_str()),
        ("case/case.md", text.as_str()),
    ]));
    let findings = crate::check(&sources).findings;
    let source = sources
        .tree
        .files
        .iter()
        .find(|file| file.path == "case/case.md");
    let source = source.unwrap();
    let mut edited = findings
        .iter()
        .filter_map(|finding| finding.edited(source.id, &source.text));
    let edited = edited
        .next()
        .unwrap_or_else(|| panic!("no edits: {findings:?}"));
    let body = edited.split_once("## Do").unwrap().1;
    body.trim_start().to_owned()
}

#[test]
fn a_new_step_is_written_as_its_neighbours_are() {
    let only_plain = "\"plain\"";
    for (body, expected) in [
        (
            "1. [](clean:lid)\n2. [](remove:rod)\n3. [](fit:rod)\n",
            "1. [](clean:lid)\n2. [](note:rod)\n2. [](remove:rod)\n3. [](fit:rod)\n",
        ),
        // The delimiter, the indentation and the end of lines are those of the file.
        (
            "   7) [](remove:rod)\r\n   8) [](fit:rod)\r\n",
            "7) [](note:rod)\r\n   7) [](remove:rod)\r\n   8) [](fit:rod)\r\n",
        ),
        // The end of a step with notes is after its notes.
        (
            "1. [](note:rod)\n2. [](remove:rod)\n   - Mind the hole.\n\n   It may stick.\n",
            "1. [](note:rod)\n2. [](remove:rod)\n   - Mind the hole.\n\n   It may stick.\n3. [](fit:rod)\n",
        ),
        // A caution stays above its step.
        (
            "1. [](clean:lid)\n\n> [](caution:edge)\n\n2. [](remove:rod)\n3. [](fit:rod)\n",
            "1. [](clean:lid)\n\n2. [](note:rod)\n\n> [](caution:edge)\n\n2. [](remove:rod)\n3. [](fit:rod)\n",
        ),
    ] {
        assert_eq!(edited(body, only_plain), expected);
    }
}

#[test]
fn a_new_step_is_for_the_machines_that_need_it() {
    let both = "\"sprung\", \"plain\"";
    let restored = "3. [](restore:spring) {if-fitted}\n";
    // Only one machine has the spring.
    assert_eq!(
        edited(
            &format!("1. [](isolate:spring) {{if-fitted}}\n2. [](clean:lid)\n{restored}"),
            both
        ),
        format!(
            "1. [](isolate:spring) {{if-fitted}}\n2. [](prove:spring) {{if-fitted}}\n2. [](clean:lid)\n{restored}"
        )
    );
    // Both have the rod, and it comes off on one of them.
    assert_eq!(
        edited(
            "1. [](remove:rod) {only=\"plain\"}\n2. [](fit:rod) {only=\"plain\"}\n",
            both
        ),
        "1. [](note:rod) {only=\"plain\"}\n1. [](remove:rod) {only=\"plain\"}\n2. [](fit:rod) {only=\"plain\"}\n"
    );
}

#[test]
fn nobody_is_told_to_make_an_energy_live_while_something_is_off() {
    let steps = "1. [](isolate:spring)\n2. [](prove:spring)\n3. [](note:rod)\n4. [](remove:rod)\n";
    let expected = format!("{steps}5. [](fit:rod)\n");
    assert_eq!(edited(steps, "\"sprung\""), expected);
    let expected = format!("{expected}6. [](restore:spring)\n");
    let back = format!("{steps}5. [](fit:rod)\n");
    assert_eq!(edited(&back, "\"sprung\""), expected);
}
