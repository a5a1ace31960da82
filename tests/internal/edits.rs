//! Edits on real input: steps of the procedures of the demonstration shop are dropped from the text, one at a time. Where
//! a finding has edits, they are applied: that finding is gone, and nothing is found that was not found before.
//!
//! `cargo test --lib edits -- --nocapture` prints the figures. All 315 steps take two minutes, so a few are dropped in
//! each run of the tests; with `EDITS_OF_ALL_STEPS=1` all are.

use super::support::{files, root};
use crate::finding::Finding;
use crate::procedure::Step;
use crate::tree::Memory;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Of how many steps one is dropped.
const ONE_OF: usize = 13;

/// The least percentage of findings that have edits.
const WANTED_IN_100: usize = 65;

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
struct Outcome {
    found: usize,
    with_edits: usize,
    wrong: Vec<String>,
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
fn outcome(name: &str, files: &Files) -> Outcome {
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
