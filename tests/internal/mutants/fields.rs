//! Mutation test of the records: each field of a machine, a tool or the legend of a figure on which a check or a caution depends is dropped, its
//! key or a name in it is misspelled, or it is emptied; counts and positions are changed; a number in a figure is used
//! twice. Each mutant must give a finding.
//! Those without one are listed in `missed_fields.toml` with the reason, and count as not found.
//!
//! The mutants are those of the files' text. One check of the whole shop takes a second of a test's time, so that most
//! runs check a [`SAMPLED`]th of the mutants, chosen by a hash of their names: the choice does not change when another
//! part of the demonstration does. `cargo test --lib mutants::fields -- --ignored --nocapture` checks them all.

use super::super::edits;
use super::check::count_of;
use super::list::{MOST_OF_AN_ENTRY, MissedField, missed_fields};
use super::{MOST_FINDINGS, demo, share};
use crate::tree::Memory;
use rayon::prelude::*;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// The least percentage of mutants that must be found, and of the mutants of a sample. Mutants listed as missed count as
/// not found.
const WANTED_IN_100: usize = 95;
const WANTED_OF_SAMPLE: usize = 95;

/// Of how many mutants one is checked.
const SAMPLED: u64 = 16;

/// Of how many checked mutants that reading the records finds, the findings of one are counted.
const COUNTED: usize = 8;

/// How a field was mutated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Kind {
    DropField,
    /// The key is misspelled.
    RenameField,
    /// A name in it, or its word, is misspelled.
    RenameValue,
    /// A list or a text is empty, and what was true is false.
    EmptyField,
    /// One name is missing from a list of several.
    DropName,
    /// A count is one more.
    ChangeCount,
    /// The position is the next of the positions.
    ChangePosition,
    /// The id of what has a number in a figure is misspelled.
    RenameRecord,
    /// A number in a figure is that of another thing.
    RepeatNumber,
}

/// The fields of the legends of figures whose texts are names.
const NAMING_IN_LEGENDS: [&str; 3] = ["assembly", "machines", "place"];

/// The fields whose text, or the texts in whose list, are names or fixed words.
const NAMING: [&str; 32] = [
    "after",
    "assembled",
    "behind",
    "carries",
    "cautions",
    "drains",
    "endangers",
    "engine",
    "found",
    "head",
    "held-by",
    "into",
    "kind",
    "laid-open-by",
    "locked-by",
    "looks",
    "lost-by",
    "may-be-live",
    "may-lack",
    "measure",
    "needs",
    "off-first",
    "seals",
    "secured-by",
    "shuts",
    "signed-by",
    "spark-plug",
    "stack",
    "supply",
    "through",
    "tool",
    "with",
];

/// The other fields on which a check depends.
const OTHERS: [&str; 31] = [
    "accuracy",
    "class",
    "clean",
    "count",
    "drive",
    "driven",
    "driver",
    "due",
    "extends",
    "faces",
    "graduation",
    "isolate",
    "length",
    "limits",
    "low-torque",
    "position",
    "positions",
    "prove",
    "range",
    "resolution",
    "restore",
    "reuse",
    "single-use",
    "size",
    "stages",
    "thread",
    "tip-speed",
    "tolerance",
    "torque",
    "turns-with",
    "without",
];

/// A record with one fault in it.
struct Mutant {
    kind: Kind,
    path: String,
    /// The record and field: `part.bowl-nut.torque`.
    field: String,
    typed: String,
    mutated: String,
    /// The file's text with the mutant.
    text: String,
}

impl Mutant {
    fn name(&self) -> String {
        format!(
            "{:?} {}: {}: {} -> {}",
            self.kind, self.path, self.field, self.typed, self.mutated
        )
    }
}

/// A name without its last letter, or with another one.
fn misspelled(name: &str) -> String {
    let mut letters: Vec<char> = name.chars().collect();
    match letters.pop() {
        Some(last) if last != 'x' => letters.push('x'),
        _ => {}
    }
    letters.into_iter().collect()
}

/// The mutants of one line, `key = value`: the kind and the line that replaces it.
fn of_line(record: &BTreeMap<&str, &str>, key: &str, value: &str) -> Vec<(Kind, String)> {
    // The engine of a machine is a table of the author's own words; that of a reading is a fixed word.
    let is_own_words = value.starts_with('{');
    if !NAMING.contains(&key) && !OTHERS.contains(&key) {
        return Vec::new();
    }
    let is_naming = (NAMING.contains(&key) || key == "without") && !is_own_words;
    let mut mutants = of_field(key, value, is_naming);
    if let (Some(count), "count") = (value.parse::<u32>().ok(), key) {
        mutants.push((Kind::ChangeCount, format!("{key} = {}", count + 1)));
    }
    if let (Some(positions), "position") = (record.get("positions"), key) {
        let positions: Vec<&str> = positions.split('"').skip(1).step_by(2).collect();
        let next = positions
            .iter()
            .find(|position| !value.contains(&format!("\"{position}\"")));
        let next = next.map(|next| format!("{key} = \"{next}\""));
        mutants.extend(next.map(|next| (Kind::ChangePosition, next)));
    }
    mutants
}

/// The mutants of one line of the legend of a figure. A figure that shows less (a machine, an element or a part of an
/// assembly fewer) is not wrong, so no name is dropped, nor a field that need not be there.
fn of_legend_line(text: &str, is_callout: bool, key: &str, value: &str) -> Vec<(Kind, String)> {
    let is_number = key == "number";
    if !is_number && !NAMING_IN_LEGENDS.contains(&key) {
        return Vec::new();
    }
    let is_required = is_number || key == "place" || (key == "machines" && !is_callout);
    let mut mutants = of_field(key, value, !is_number);
    mutants.retain(|(kind, _)| match kind {
        Kind::DropName => false,
        Kind::DropField | Kind::EmptyField => is_required,
        _ => true,
    });
    if is_number {
        let numbers = text.lines();
        let mut numbers = numbers.filter_map(|line| line.strip_prefix("number = "));
        let other = numbers.find(|number| *number != value);
        let repeated = other.map(|other| format!("{key} = {other}"));
        mutants.extend(repeated.map(|line| (Kind::RepeatNumber, line)));
    }
    mutants
}

/// The mutants that any field has.
fn of_field(key: &str, value: &str, is_naming: bool) -> Vec<(Kind, String)> {
    let line = |value: &str| format!("{key} = {value}");
    let mut mutants = vec![(Kind::RenameField, format!("{} = {value}", misspelled(key)))];
    // Without the field, a valve is found open, and a fluid full: dropping it changes nothing.
    let is_default = key == "found" && matches!(value, "\"open\"" | "\"full\"");
    if !is_default {
        mutants.push((Kind::DropField, String::new()));
    }
    let emptied = match value {
        _ if value.starts_with('[') => Some("[]"),
        _ if value.starts_with('"') => Some("\"\""),
        _ => None,
    };
    mutants.extend(emptied.map(|empty| (Kind::EmptyField, line(empty))));
    let names: Vec<&str> = value.split('"').skip(1).step_by(2).collect();
    if is_naming {
        for (index, name) in names.iter().enumerate() {
            let quoted = |name: &str| format!("\"{name}\"");
            let new = value.replacen(&quoted(name), &quoted(&misspelled(name)), 1);
            mutants.push((Kind::RenameValue, line(&new)));
            if names.len() > 1 {
                let mut left = names.clone();
                left.remove(index);
                let left: Vec<String> = left.into_iter().map(quoted).collect();
                mutants.push((Kind::DropName, line(&format!("[{}]", left.join(", ")))));
            }
        }
    }
    mutants
}

/// The mutants of a file.
fn mutants_of(path: &str, text: &str) -> Vec<Mutant> {
    let is_legend = path.starts_with("figures/");
    let mut mutants = Vec::new();
    let mut at = 0;
    // A record, with its header on the first line.
    for part in text.split("\n[").enumerate().map(|(index, part)| {
        if index == 0 {
            part.to_owned()
        } else {
            format!("\n[{part}")
        }
    }) {
        let fields = part.lines().filter_map(|line| line.split_once(" = "));
        let fields: BTreeMap<&str, &str> = fields.collect();
        let header = part
            .lines()
            .find_map(|line| line.strip_prefix('[')?.strip_suffix(']'));
        let header = header.unwrap_or_default();
        let mut line_at = at;
        for line in part.split_inclusive('\n') {
            let range = line_at..line_at + line.trim_end().len();
            line_at += line.len();
            let (key, value, of_line) = match line.trim_end().split_once(" = ") {
                Some((key, value)) if is_legend => {
                    let is_callout = header.starts_with("callout.");
                    (key, value, of_legend_line(text, is_callout, key, value))
                }
                Some((key, value)) => (key, value, of_line(&fields, key, value)),
                None if is_legend && line.starts_with("[callout.") => {
                    let renamed = format!("[{}]", misspelled(header));
                    ("", header, vec![(Kind::RenameRecord, renamed)])
                }
                None => continue,
            };
            for (kind, mutated) in of_line {
                let mut changed = text.to_owned();
                changed.replace_range(range.clone(), &mutated);
                mutants.push(Mutant {
                    kind,
                    path: path.to_owned(),
                    field: format!("{header}.{key}"),
                    typed: value.to_owned(),
                    mutated,
                    text: changed,
                });
            }
        }
        at += part.len();
    }
    mutants
}

struct Outcome {
    is_found: bool,
    /// The number of findings of the whole check, if it was done.
    count: Option<usize>,
}

/// The messages of the findings of reading the records and comparing them.
pub(super) fn early_messages(world: &BTreeMap<String, Vec<u8>>) -> BTreeSet<String> {
    let records = world.iter().filter(|(path, _)| !path.contains(".md"));
    let records: BTreeMap<String, Vec<u8>> = records
        .map(|(path, bytes)| (path.clone(), bytes.clone()))
        .collect();
    let sources = crate::read(&Memory::new(records));
    let checked = crate::check_all(&sources);
    let findings = checked.findings.iter();
    findings.map(|finding| finding.message.clone()).collect()
}

/// Checks a mutant. If it is found early, its findings are counted only if `is_counted`.
fn check(
    world: &BTreeMap<String, Vec<u8>>,
    known: &BTreeSet<String>,
    mutant: &Mutant,
    is_counted: bool,
) -> Outcome {
    let mut world = world.clone();
    world.insert(mutant.path.clone(), mutant.text.clone().into_bytes());
    if !is_counted && !early_messages(&world).is_subset(known) {
        return Outcome {
            is_found: true,
            count: None,
        };
    }
    let sources = crate::read(&Memory::new(world));
    let findings = crate::check_all(&sources).findings;
    Outcome {
        is_found: !findings.is_empty(),
        count: Some(count_of(findings.iter())).filter(|count| *count > 0),
    }
}

/// FNV-1a.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

fn all_mutants(world: &BTreeMap<String, Vec<u8>>) -> Vec<Mutant> {
    let texts = world.iter().filter(|(path, _)| {
        let is_legend = path.starts_with("figures/") && path.strip_suffix(".toml").is_some();
        is_legend || path.starts_with("machines/") || path.as_str() == "tools.toml"
    });
    texts
        .flat_map(|(path, bytes)| mutants_of(path, std::str::from_utf8(bytes).unwrap()))
        .collect()
}

/// The mutants that may have no finding.
fn missed() -> Vec<MissedField<Kind>> {
    missed_fields("mutants/missed_fields.toml")
}

#[test]
fn most_faults_in_records_are_found() {
    let world = demo();
    let mutants = all_mutants(&world);
    let sample = mutants
        .into_iter()
        .filter(|mutant| hash(&mutant.name()).is_multiple_of(SAMPLED));
    check_and_assert(&world, &sample.collect::<Vec<_>>(), false);
}

#[test]
#[ignore = "takes some minutes; the test above checks a sample"]
fn most_of_all_faults_in_records_are_found() {
    let world = demo();
    let mutants = all_mutants(&world);
    check_and_assert(&world, &mutants, true);
}

/// Shows which mutants of the list are missed still, by kind and field, and how many each entry covers.
#[test]
#[ignore = "takes a minute; it helps to shorten the list"]
#[allow(clippy::print_stdout, reason = "the list is a result of the test")]
fn the_listed_faults_in_records() {
    let world = demo();
    let list = missed();
    let is_listed = |mutant: &Mutant| {
        list.iter()
            .any(|entry| entry.covers(&mutant.kind, &mutant.path, &mutant.field))
    };
    let mut mutants = all_mutants(&world);
    let all = mutants.len();
    mutants.retain(is_listed);
    let known = early_messages(&world);
    let missed: Vec<&Mutant> = mutants
        .par_iter()
        .filter(|mutant| !check(&world, &known, mutant, false).is_found)
        .collect();
    for mutant in &missed {
        println!("{}", mutant.name());
    }
    for entry in &list {
        let covered = missed
            .iter()
            .filter(|mutant| entry.covers(&mutant.kind, &mutant.path, &mutant.field))
            .count();
        println!(
            "{covered} {:?} {} {:?}",
            entry.kind, entry.file, entry.field
        );
    }
    let found = all - missed.len();
    println!(
        "{found} of {all} are found if all that are not listed are: {}",
        share(found, all)
    );
}

/// Of how many mutants the edits of one are applied.
const EDITED: usize = 4;

/// Applies the edits of each finding of some mutants: the finding is gone, and there is no other.
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn edits_are_right(world: &BTreeMap<String, Vec<u8>>, mutants: &[Mutant]) {
    let outcomes: Vec<edits::Outcome> = mutants
        .par_iter()
        .step_by(EDITED)
        .map(|mutant| {
            let mut world = world.clone();
            world.insert(mutant.path.clone(), mutant.text.clone().into_bytes());
            edits::outcome(&mutant.name(), &world)
        })
        .collect();
    let with_edits: usize = outcomes.iter().map(|outcome| outcome.with_edits).sum();
    println!("{with_edits} findings with edits");
    let wrong = outcomes.iter().flat_map(|outcome| &outcome.wrong);
    let wrong: Vec<&str> = wrong.map(String::as_str).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(with_edits > 0);
}

/// Prints the figures. `is_all` says whether the mutants are all there are, so that each entry of the list has to cover
/// some.
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn check_and_assert(world: &BTreeMap<String, Vec<u8>>, mutants: &[Mutant], is_all: bool) {
    // Without procedures there is a finding that says so.
    let known = early_messages(world);
    let outcomes: Vec<Outcome> = mutants
        .par_iter()
        .enumerate()
        .map(|(index, mutant)| check(world, &known, mutant, index % COUNTED == 0))
        .collect();
    edits_are_right(world, mutants);
    let list = missed();
    let mut covered = vec![0; list.len()];
    let mut by_kind: BTreeMap<Kind, (usize, usize)> = BTreeMap::new();
    let mut counts: Vec<(usize, String)> = Vec::new();
    let mut unexplained = Vec::new();
    for (mutant, outcome) in mutants.iter().zip(&outcomes) {
        let count = by_kind.entry(mutant.kind).or_default();
        count.0 += 1;
        count.1 += usize::from(outcome.is_found);
        counts.extend(outcome.count.map(|count| (count, mutant.name())));
        if !outcome.is_found {
            match list
                .iter()
                .position(|entry| entry.covers(&mutant.kind, &mutant.path, &mutant.field))
            {
                Some(entry) => covered[entry] += 1,
                None => unexplained.push(mutant.name()),
            }
        }
    }
    let found: usize = by_kind.values().map(|(_, found)| found).sum();
    for (kind, (all, found)) in &by_kind {
        println!("{kind:?}: {found} of {all}");
    }
    println!(
        "{found} of {} faults in records are found: {}",
        mutants.len(),
        share(found, mutants.len())
    );
    assert!(
        unexplained.is_empty(),
        "{} faults in records are neither found nor listed in `missed_fields.toml`:\n{}",
        unexplained.len(),
        unexplained.join("\n")
    );
    for (entry, covered) in list.iter().zip(&covered) {
        let least = usize::from(is_all);
        let is_fair =
            (least..=MOST_OF_AN_ENTRY).contains(covered) && !entry.reason.trim().is_empty();
        assert!(is_fair, "`{}` covers {covered}", entry.reason);
    }
    counts.sort();
    let median = counts.get(counts.len() / 2).map(|(count, _)| *count);
    assert_eq!(median, Some(1), "the median of the numbers of findings");
    let most = counts.last();
    println!("findings of a mutant: median {median:?}, at most {most:?}");
    assert!(
        most.is_none_or(|(count, _)| *count <= MOST_FINDINGS),
        "a mutant gives too many findings: {most:?}"
    );
    let wanted = if is_all {
        WANTED_IN_100
    } else {
        WANTED_OF_SAMPLE
    };
    assert!(found * 100 >= mutants.len() * wanted, "too few are found");
}
