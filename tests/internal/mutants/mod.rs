//! Mutation test of the rules. Each procedure of the demonstration shop is mutated with one fault at a time. Each mutant
//! must give a finding on each of its machines. Those without a finding are listed in `missed.toml` with the reason why
//! that is acceptable, and count as not found. An entry of the list that covers no mutant fails the test.
//!
//! A mutant that does not change the actions of any job (it drops a sentence without an action, a reference, or a step
//! that the derived reassembly does not need) is not counted.
//! `cargo test --lib mutants -- --nocapture` prints the figures.

mod check;
mod counts;
mod fields;
mod forms;
mod intervals;
mod list;
mod mutation;
mod no_fault;

use super::support::{files, root};
use crate::tree::Memory;
use check::{NoFault, Original, Outcome};
use list::Missed;
pub(super) use list::{MOST_OF_AN_ENTRY, missed_fields};
use mutation::{Kind, Mutant, mutants_of};
use rayon::prelude::*;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

/// The least percentage of mutants of procedures that must be found. Mutants listed as missed count as not found.
const WANTED_IN_100: usize = 95;

/// The most findings that a mutant may give.
const MOST_FINDINGS: usize = 4;

/// Of how many mutants one is rehearsed without the prefix cache as well. Comparing takes three times as long as the rest
/// of a check.
const COMPARED: usize = 16;

#[derive(Deserialize)]
struct Table {
    missed: Vec<Missed>,
}

pub(super) fn demo() -> BTreeMap<String, Vec<u8>> {
    files(&root().join("procedures")).into_iter().collect()
}

#[test]
fn every_mutant_is_found_or_listed_as_missed() {
    let sources = crate::read(&Memory::new(demo()));
    let checked = crate::check_all(&sources);
    assert!(
        checked.findings.is_empty(),
        "the demonstration has findings"
    );
    let original = Original::new(&sources, &checked.jobs);
    let procedures = sources.procedures.iter();
    let mutants: Vec<Mutant<'_>> = procedures
        .flat_map(|procedure| mutants_of(procedure, &sources.shop))
        .collect();
    let outcomes: Vec<Outcome> = mutants
        .par_iter()
        .enumerate()
        .map(|(index, mutant)| original.check(mutant, index % COMPARED == 0))
        .collect();
    let table = root().join("tests/internal/mutants/missed.toml");
    let table: Table = toml::from_str(&std::fs::read_to_string(table).unwrap()).unwrap();
    report_and_assert(&mutants, &outcomes, &table.missed);
}

/// A percentage as text: "97.3 %", "of none".
fn share(part: usize, whole: usize) -> String {
    if whole == 0 {
        return "of none".to_owned();
    }
    let tenths = part * 1000 / whole;
    format!("{}.{} %", tenths / 10, tenths % 10)
}

#[derive(Default)]
struct Count {
    all: usize,
    found: usize,
    listed: usize,
}

impl Count {
    fn add(&mut self, is_found: bool, is_listed: bool) {
        self.all += 1;
        self.found += usize::from(is_found);
        self.listed += usize::from(is_listed);
    }

    fn line(&self, name: &str) -> String {
        let Count { all, found, listed } = *self;
        let (of_all, of_unlisted) = (share(found, all), share(found, all - listed));
        format!(
            "{name:26} {all:5} mutants, {found:5} found: {of_all:>7}; {listed:4} listed as missed, of the others {of_unlisted:>7}\n"
        )
    }
}

/// Prints the figures. Fails if a mutant was neither found nor listed.
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn report_and_assert(mutants: &[Mutant<'_>], outcomes: &[Outcome], missed: &[Missed]) {
    let mut by_kind: BTreeMap<Kind, Count> = BTreeMap::new();
    let mut all = Count::default();
    let mut touching = Count::default();
    let mut by_rule: BTreeMap<&str, usize> = BTreeMap::new();
    let mut no_fault: BTreeMap<(Kind, NoFault), usize> = BTreeMap::new();
    let mut used = vec![0; missed.len()];
    let mut unexplained = Vec::new();
    for (mutant, outcome) in mutants.iter().zip(outcomes) {
        if mutant.kind == Kind::None {
            assert!(outcome.findings.is_empty(), "{}", mutant.name());
            continue;
        }
        let rules: BTreeSet<&str> = outcome
            .findings
            .iter()
            .map(|found| found.rule.name)
            .collect();
        for rule in rules {
            *by_rule.entry(rule).or_default() += 1;
        }
        for machine in &mutant.machines {
            if !outcome.changed.contains(*machine) {
                continue;
            }
            let is_found = outcome.found.contains(*machine);
            if let Some(reason) = outcome.no_fault.get(*machine).filter(|_| !is_found) {
                *no_fault.entry((mutant.kind, *reason)).or_default() += 1;
                continue;
            }
            let mut is_listed = false;
            if !is_found {
                match missed
                    .iter()
                    .position(|entry| entry.covers(mutant, machine))
                {
                    Some(index) => {
                        used[index] += 1;
                        is_listed = true;
                    }
                    None => unexplained.push(format!("{} on {machine}", mutant.name())),
                }
            }
            let kind = by_kind.entry(mutant.kind).or_default();
            kind.add(is_found, is_listed);
            all.add(is_found, is_listed);
            if mutant.is_touching_step() {
                touching.add(is_found, is_listed);
            }
        }
    }
    let kinds = by_kind.iter();
    let mut report: String = kinds
        .map(|(kind, count)| count.line(&format!("{kind:?}")))
        .collect();
    report += &touching.line("dropped steps that touch");
    report += &all.line("all");
    let found = mutants.iter().zip(outcomes);
    let mut found: Vec<_> = found
        .filter(|(_, outcome)| !outcome.findings.is_empty() && !outcome.changed.is_empty())
        .collect();
    found.sort_by_key(|(_, outcome)| outcome.count());
    let counts: Vec<usize> = found.iter().map(|(_, outcome)| outcome.count()).collect();
    let median = counts[counts.len() / 2];
    let most = counts.last().copied().unwrap_or_default();
    let _ = writeln!(
        report,
        "findings of a mutant: median {median}, at most {most}"
    );
    println!("{report}no fault: {no_fault:?}\nfound by: {by_rule:?}");
    assert!(
        unexplained.is_empty(),
        "{} mutants are neither found nor listed in `missed.toml`:\n{}",
        unexplained.len(),
        unexplained.join("\n")
    );
    let unused: Vec<&str> = missed
        .iter()
        .zip(&used)
        .filter(|(entry, used)| {
            **used == 0 || **used > MOST_OF_AN_ENTRY || entry.reason.trim().is_empty()
        })
        .map(|(entry, _)| entry.reason.as_str())
        .collect();
    assert!(
        unused.is_empty(),
        "entries that cover no mutant, or more than {MOST_OF_AN_ENTRY}: {unused:#?}"
    );
    assert!(
        all.found * 100 >= all.all * WANTED_IN_100,
        "too few mutants are found:\n{report}"
    );
    assert_eq!(median, 1, "the median of the numbers of findings");
    let worst = found.last().map(|(mutant, _)| mutant.name());
    assert!(most <= MOST_FINDINGS, "{most} findings: {worst:?}");
}
