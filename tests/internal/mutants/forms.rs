//! Mutation test of the forms of a whole manual: outcomes, repetitions, pairs, dimensions that wear, patterns, positions,
//! conditions, amounts, notes, variants and chapters. Each is broken in the text of the tree `engine-manual`, one at a
//! time, and each mutant must give a finding. Those without one are listed in `missed_forms.toml` with the reason.
//!
//! `cargo test --lib mutants::forms -- --nocapture` prints the figures.

use super::super::support::{files, tree};
use super::check::count_of;
use super::fields::early_messages;
use super::list::{MOST_OF_AN_ENTRY, MissedField, missed_fields};
use super::{MOST_FINDINGS, share};
use crate::tree::Memory;
use rayon::prelude::*;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// The least percentage of mutants that must be found. Mutants listed as missed count as not found.
const WANTED_IN_100: usize = 90;

/// How a form was broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Kind {
    /// A step is done on every other outcome.
    OppositeOutcome,
    /// A step is always done.
    DropCondition,
    UnknownOutcome,
    /// Steps are repeated until it is wrong.
    OppositeUntil,
    /// The step that ends a repetition, which measures, is missing.
    DropLastOfLoop,
    /// Steps are repeated from one that does not exist.
    UnknownBackTo,
    /// An installation is no longer one of a pair.
    DropReverses,
    /// An installation names the removal of something else.
    OtherReverses,
    /// A job ends without the installation that it includes.
    DropInstallation,
    /// The wear limit is beyond the size of a new part.
    WornWhenNew,
    /// The wear limit is a greatest value where it was a least one, or the reverse.
    OtherBound,
    DropWearLimit,
    UnknownDimension,
    UnknownPattern,
    /// One place is missing from those of the bolts.
    DropBoltPlace,
    UnknownPosition,
    UnknownCondition,
    /// An amount is in a unit of time.
    UnknownAmount,
    /// A note warns.
    NoteThatWarns,
    UnknownLike,
    /// A variant has a part that it lacks.
    DropLacks,
    /// Serial numbers are covered twice, or not at all.
    OtherSerial,
    UnknownChapter,
    UnreadableInterval,
    /// A setting that the meter does not have.
    UnknownSetting,
    /// A level has one mark.
    DropMark,
    UnknownColour,
    UnknownFollowOn,
    /// A job takes nobody.
    NoPeople,
    UnknownWiring,
    /// The log names a machine or a procedure that there is not.
    UnknownInLog,
}

/// A form, broken.
struct Mutant {
    kind: Kind,
    path: String,
    /// The action of the step or the field of the record: `renew:insulator`, `part.piston.dimension.skirt.wear-limit`.
    place: String,
    range: Range<usize>,
    new: String,
}

impl Mutant {
    fn name(&self, world: &BTreeMap<String, Vec<u8>>) -> String {
        let old = &world[&self.path][self.range.clone()];
        let old = String::from_utf8_lossy(old);
        format!(
            "{:?} {}: {}: {} -> {}",
            self.kind,
            self.path,
            self.place,
            old.trim(),
            self.new
        )
    }
}

/// The places of the text between two others in a line, with their ends.
fn between<'t>(line: &'t str, start: &str, end: &str) -> Vec<(usize, &'t str)> {
    let starts = line.match_indices(start).map(|(at, _)| at + start.len());
    starts
        .filter_map(|at| Some((at, &line[at..at + line[at..].find(end)?])))
        .collect()
}

/// What an outcome is not.
fn opposite(outcome: &str) -> &'static str {
    match outcome {
        "renew" => "reuse",
        "reuse" => "renew",
        "over" => "not-over",
        "not-over" => "over",
        "under" => "not-under",
        "not-under" => "under",
        "within" => "out",
        "out" => "within",
        _ => panic!("`{outcome}` is an outcome that the test does not know"),
    }
}

/// Makes the mutants of a line of a file.
struct Line<'t> {
    path: &'t str,
    /// Its position in the text.
    at: usize,
    text: &'t str,
    place: String,
}

impl Line<'_> {
    /// The mutant that has another text in a range of the line.
    fn mutant(&self, kind: Kind, range: Range<usize>, new: impl Into<String>) -> Mutant {
        Mutant {
            kind,
            path: self.path.to_owned(),
            place: self.place.clone(),
            range: self.at + range.start..self.at + range.end,
            new: new.into(),
        }
    }

    /// The mutant without the line.
    fn dropped(&self, kind: Kind) -> Mutant {
        self.mutant(kind, 0..self.text.len(), "")
    }

    /// Those of a step's marks.
    fn marks(&self) -> Vec<Mutant> {
        let mut mutants = Vec::new();
        for (at, mark) in between(self.text, "if=\"", "\"") {
            let (thing, outcome) = mark.split_once('.').expect("a thing and its outcome");
            let range = at..at + mark.len();
            let with = |outcome: &str| format!("{thing}.{outcome}");
            let opposite = with(opposite(outcome));
            mutants.push(self.mutant(Kind::OppositeOutcome, range.clone(), opposite));
            mutants.push(self.mutant(Kind::UnknownOutcome, range, with("torn")));
            let whole = at - "if=\"".len()..at + mark.len() + 1;
            // Without another mark, no braces are left.
            let braces = whole.start - 1..whole.end + 1;
            let is_alone = self.text[braces.clone()].starts_with('{')
                && self.text[braces.clone()].ends_with('}');
            let whole = if is_alone { braces } else { whole };
            mutants.push(self.mutant(Kind::DropCondition, whole, ""));
        }
        for (at, mark) in between(self.text, "until=\"", "\"") {
            let (thing, outcome) = mark.split_once('.').expect("a thing and its outcome");
            let opposite = format!("{thing}.{}", opposite(outcome));
            mutants.push(self.mutant(Kind::OppositeUntil, at..at + mark.len(), opposite));
            mutants.push(self.dropped(Kind::DropLastOfLoop));
        }
        for (at, mark) in between(self.text, "back-to=\"", "\"") {
            mutants.push(self.mutant(Kind::UnknownBackTo, at..at + mark.len(), "half-way"));
        }
        mutants
    }

    /// Those of a procedure's line.
    fn of_procedure(&self, removals: &[&str]) -> Vec<Mutant> {
        let mut mutants = self.marks();
        for (at, name) in between(self.text, "reverses = \"", "\"") {
            let other = removals.iter().find(|other| **other != name);
            mutants.push(self.dropped(Kind::DropReverses));
            let other = *other.expect("there are two pairs");
            mutants.push(self.mutant(Kind::OtherReverses, at..at + name.len(), other));
        }
        if self.text.contains("](do:") && self.text.contains("-back)") {
            mutants.push(self.dropped(Kind::DropInstallation));
        }
        for (start, kind, new) in [
            (
                "interval = \"",
                Kind::UnreadableInterval,
                "every second Tuesday",
            ),
            ("follow-on = [\"", Kind::UnknownFollowOn, "left-handed-hook"),
        ] {
            for (at, name) in between(self.text, start, "\"") {
                mutants.push(self.mutant(kind, at..at + name.len(), new));
            }
        }
        if self.text.starts_with("people = ") {
            let new = "people = 0";
            mutants.push(self.mutant(Kind::NoPeople, 0..new.len(), new));
        }
        if let Some(end) = self.text.find(" {.inspection}") {
            let new = "Before the season";
            mutants.push(self.mutant(Kind::UnreadableInterval, "## ".len()..end, new));
        }
        let named = [
            ("](turn:", Kind::UnknownPosition, "half-way"),
            ("](wait:", Kind::UnknownCondition, "left-handed-hook"),
            ("](apply:", Kind::UnknownAmount, "5-min"),
            ("](measure:", Kind::UnknownDimension, "left-handed-hook"),
        ];
        for (start, kind, new) in named {
            for (at, name) in between(self.text, start, ")") {
                let part = match (kind, name.split_once('/')) {
                    // A time is waited for as well.
                    (Kind::UnknownCondition, _) if name.starts_with(char::is_numeric) => continue,
                    (Kind::UnknownCondition, _) => at..at + name.len(),
                    (_, Some((thing, last))) => {
                        let start = at + thing.len() + 1;
                        start..start + last.len()
                    }
                    (_, None) => continue,
                };
                mutants.push(self.mutant(kind, part, new));
            }
        }
        if let Some(at) = self.text.find("> Note: ") {
            let start = at + "> Note: ".len();
            mutants.push(self.mutant(Kind::NoteThatWarns, start..start, "Warning: "));
        }
        mutants
    }

    /// Those of a record's field. `fields` are all of its record.
    fn of_record(&self, fields: &BTreeMap<&str, &str>) -> Vec<Mutant> {
        let Some((key, value)) = self.text.trim_end().split_once(" = ") else {
            return Vec::new();
        };
        let start = key.len() + " = ".len();
        let whole = start..start + value.len();
        let with = |kind, new: String| self.mutant(kind, whole.clone(), new);
        match key {
            "wear-limit" => {
                let mut mutants = vec![self.dropped(Kind::DropWearLimit)];
                let other = match value.strip_prefix("\"max ") {
                    Some(limit) => format!("\"at least {limit}"),
                    None => value.replace("at least", "max"),
                };
                mutants.push(with(Kind::OtherBound, other));
                let new = fields.get("new").copied();
                let worn = new.map(|new| with(Kind::WornWhenNew, beyond_new(value, new)));
                mutants.extend(worn);
                mutants
            }
            "pattern" => vec![with(Kind::UnknownPattern, "\"star\"".to_owned())],
            "bolts-at" => {
                let (first, _) = value.rsplit_once(", \"").expect("several places");
                vec![with(Kind::DropBoltPlace, format!("{first}]"))]
            }
            "like" => vec![with(Kind::UnknownLike, "\"tarn-rown\"".to_owned())],
            "lacks" => vec![self.dropped(Kind::DropLacks)],
            "from" | "to" => ["2300", "2500"]
                .map(|number| with(Kind::OtherSerial, format!("\"RW-{number}\"")))
                .into(),
            "chapters" => {
                let new = value.replacen("fuel", "fule", 1);
                vec![with(Kind::UnknownChapter, new)]
            }
            "setting" => vec![with(Kind::UnknownSetting, "\"kΩ 21\"".to_owned())],
            "marks" => vec![with(Kind::DropMark, "[\"LOW\"]".to_owned())],
            "wires" => {
                let (first, last) = value.rsplit_once(' ').expect("a terminal and its colour");
                let new = format!("{first} XX{}", &last[2..]);
                vec![with(Kind::UnknownColour, new)]
            }
            "wiring" => vec![with(Kind::UnknownWiring, "\"figures/none.svg\"".to_owned())],
            "machine" | "done" => {
                let new = value.replacen("tarn", "tern", 1);
                vec![with(Kind::UnknownInLog, new.replacen("oil", "oils", 1))]
            }
            _ => Vec::new(),
        }
    }
}

/// A wear limit at which each new part would be worn out.
fn beyond_new(limit: &str, new: &str) -> String {
    let numbers = |text: &str| -> Vec<f64> {
        let words = text.split(|letter: char| letter != '.' && !letter.is_ascii_digit());
        words.filter_map(|word| word.parse().ok()).collect()
    };
    let new = numbers(new);
    let (least, most) = (new[0], new[new.len() - 1]);
    if limit.contains("max") {
        format!("\"max {:.4} mm\"", least * 0.5)
    } else {
        format!("\"at least {:.4} mm\"", most * 1.5)
    }
}

/// The mutants of a file.
fn mutants_of(path: &str, text: &str, removals: &[&str]) -> Vec<Mutant> {
    let is_record = path.rsplit_once('.').is_some_and(|(_, end)| end == "toml");
    let mut mutants = Vec::new();
    let (mut at, mut record) = (0, "");
    for line in text.split_inclusive('\n') {
        let start = at;
        at += line.len();
        if is_record && let Some(head) = line.strip_prefix('[') {
            record = head.trim_end().trim_end_matches(']');
            continue;
        }
        let place = if is_record {
            let key = line.split_once(" = ").map_or("", |(key, _)| key);
            format!("{record}.{key}").trim_start_matches('.').to_owned()
        } else {
            let actions = between(line, "](", ")").into_iter();
            let actions: Vec<&str> = actions.map(|(_, action)| action).collect();
            let other = line.split_once(" = ").map_or("", |(key, _)| key);
            actions.last().copied().unwrap_or(other).to_owned()
        };
        let line = Line {
            path,
            at: start,
            text: line,
            place,
        };
        if is_record {
            let rest = text[start..].split("\n\n").next().unwrap_or_default();
            let before = text[..start].rsplit("\n\n").next().unwrap_or_default();
            let fields = before.lines().chain(rest.lines());
            let fields = fields.filter_map(|line| line.split_once(" = ")).collect();
            mutants.extend(line.of_record(&fields));
        } else {
            mutants.extend(line.of_procedure(removals));
        }
    }
    mutants
}

/// The number of findings of a mutant. Those of reading the sources are enough: most mutants are found there, in a
/// hundredth of the time. `known` are the messages that the records without procedures give.
fn check(world: &BTreeMap<String, Vec<u8>>, known: &BTreeSet<String>, mutant: &Mutant) -> usize {
    let mut world = world.clone();
    let text = world.get_mut(&mutant.path).expect("the file exists");
    text.splice(mutant.range.clone(), mutant.new.bytes());
    if !mutant.path.contains(".md") && !early_messages(&world).is_subset(known) {
        return 1;
    }
    let sources = crate::read(&Memory::new(world));
    if !sources.findings.is_empty() {
        return count_of(sources.findings.iter());
    }
    let findings = crate::check_all(&sources).findings;
    count_of(findings.iter())
}

#[test]
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn every_broken_form_is_found_or_listed_as_missed() {
    let world: BTreeMap<String, Vec<u8>> = files(&tree("engine-manual")).into_iter().collect();
    let sources = crate::read(&Memory::new(world.clone()));
    let findings = crate::check_all(&sources).findings;
    assert!(findings.is_empty(), "the tree has findings");
    let procedures = sources.procedures.iter();
    let reversed = procedures.filter_map(|procedure| procedure.reverses);
    let removals: Vec<&str> = reversed
        .map(|reversed| sources.procedures[reversed.value.index()].id.as_str())
        .collect();
    let mutants: Vec<Mutant> = world
        .iter()
        .flat_map(|(path, bytes)| mutants_of(path, std::str::from_utf8(bytes).unwrap(), &removals))
        .collect();
    let known = early_messages(&world);
    let counts: Vec<usize> = mutants
        .par_iter()
        .map(|mutant| check(&world, &known, mutant))
        .collect();
    let missed: Vec<MissedField<Kind>> = missed_fields("mutants/missed_forms.toml");
    let mut covered = vec![0; missed.len()];
    let mut by_kind: BTreeMap<Kind, (usize, usize)> = BTreeMap::new();
    let mut unexplained = Vec::new();
    for (mutant, count) in mutants.iter().zip(&counts) {
        let figures = by_kind.entry(mutant.kind).or_default();
        figures.0 += 1;
        figures.1 += usize::from(*count > 0);
        if *count > 0 {
            continue;
        }
        let mut entries = missed.iter();
        match entries.position(|entry| entry.covers(&mutant.kind, &mutant.path, &mutant.place)) {
            Some(entry) => covered[entry] += 1,
            None => unexplained.push(mutant.name(&world)),
        }
    }
    for (kind, (all, found)) in &by_kind {
        println!("{kind:?}: {found} of {all}");
    }
    let found = counts.iter().filter(|count| **count > 0).count();
    println!(
        "{found} of {}: {}",
        mutants.len(),
        share(found, mutants.len())
    );
    assert!(
        unexplained.is_empty(),
        "{} broken forms are neither found nor listed in `missed_forms.toml`:\n{}",
        unexplained.len(),
        unexplained.join("\n")
    );
    for (entry, covered) in missed.iter().zip(&covered) {
        let is_fair = (1..=MOST_OF_AN_ENTRY).contains(covered) && !entry.reason.trim().is_empty();
        assert!(is_fair, "`{}` covers {covered}", entry.reason);
    }
    let kinds: BTreeSet<Kind> = by_kind.keys().copied().collect();
    assert_eq!(kinds.len(), KINDS, "kinds without a mutant, of {kinds:?}");
    assert!(found * 100 >= mutants.len() * WANTED_IN_100, "{found}");
    // Without its other half, each part that a job leaves off is a finding of its own.
    let is_of_pair = |kind| {
        matches!(
            kind,
            Kind::DropReverses | Kind::OtherReverses | Kind::DropInstallation
        )
    };
    let others = mutants.iter().zip(&counts);
    let others = others.filter(|(mutant, _)| !is_of_pair(mutant.kind));
    let worst = others.max_by_key(|(_, count)| **count);
    let (worst, most) = worst.expect("there are mutants");
    assert!(*most <= MOST_FINDINGS, "{most}: {}", worst.name(&world));
}

/// The number of kinds.
const KINDS: usize = Kind::UnknownInLog as usize + 1;
