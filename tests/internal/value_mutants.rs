//! Mutation test of the checks on values. Each value in the demonstration's machines, tools and supplies is mutated
//! with one typing error at a time, and each mutant must give a finding. Mutants without one are listed in
//! `value_mutants.toml` with the reason; no entry of that list covers more than twenty, and at least 70 % of all
//! mutants are found.
//!
//! `cargo test --lib value_mutants -- --nocapture` prints the figures.

use super::mutants::{MOST_OF_AN_ENTRY, demo, missed_fields};
use crate::Sources;
use crate::finding::{FileId, Findings};
use crate::quantity::{Quantity, Spec};
use crate::recheck::{Recheck, replace_text};
use crate::tree::Memory;
use rayon::prelude::*;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// The least percentage of mutants that must be found.
const WANTED_IN_100: usize = 70;

/// How a value was mistyped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Kind {
    /// Another unit of the kind.
    UnitSwapped,
    /// The first number ten times as large, or a tenth.
    PointMoved,
    /// Two neighbouring digits of the first number.
    DigitsSwapped,
    /// A nominal is left.
    LimitDropped,
    /// The value in the other unit has swapped digits, or its point is moved.
    PairBroken,
}

/// A value of a file, mistyped.
struct Mutant {
    kind: Kind,
    path: String,
    /// The record and field: `part.bowl-nut.torque`.
    field: String,
    typed: String,
    mistyped: String,
    /// The file's text with the mutant.
    text: String,
}

impl Mutant {
    fn name(&self) -> String {
        format!(
            "{:?} {}: {} = {} -> {}",
            self.kind, self.path, self.field, self.typed, self.mistyped
        )
    }
}

/// The units that are confused with a unit.
fn confused(unit: &str) -> &'static [&'static str] {
    match unit {
        "N·m" => &["ft·lbf", "in·lbf"],
        "ft·lbf" => &["N·m", "in·lbf"],
        "in·lbf" => &["N·m", "ft·lbf"],
        "mm" => &["in", "cm"],
        "in" => &["mm"],
        "L" | "US fl oz" => &["mL", "US qt"],
        "bar" => &["psi", "kPa"],
        "rpm" => &["Hz"],
        "Hz" => &["rpm"],
        "s" => &["min"],
        "V" => &["kV"],
        "ft/min" => &["m/s"],
        _ => &[],
    }
}

/// The first number of a text, as a range of bytes.
fn first_number(text: &str) -> Option<std::ops::Range<usize>> {
    let start = text.find(|c: char| c.is_ascii_digit())?;
    let length = text[start..]
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(text.len() - start);
    Some(start..start + length)
}

/// A number with its point moved to the right, or to the left.
fn with_point_moved(number: &str, right: bool) -> String {
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    let moved = if right {
        let (first, rest) = decimals.split_at(decimals.len().min(1));
        let first = if first.is_empty() { "0" } else { first };
        format!("{whole}{first}.{rest}")
    } else {
        let (rest, last) = whole.split_at(whole.len() - 1);
        format!("{rest}.{last}{decimals}")
    };
    let moved = moved.trim_start_matches('0').trim_end_matches('.');
    match moved.strip_prefix('.') {
        Some(decimals) => format!("0.{decimals}"),
        None => moved.to_owned(),
    }
}

/// A number with its first two neighbouring digits swapped that differ.
fn with_digits_swapped(number: &str) -> Option<String> {
    let digits: Vec<(usize, u8)> = number
        .bytes()
        .enumerate()
        .filter(|(_, byte)| byte.is_ascii_digit())
        .collect();
    let pair = digits.windows(2).find(|pair| pair[0].1 != pair[1].1)?;
    let mut bytes = number.as_bytes().to_vec();
    bytes.swap(pair[0].0, pair[1].0);
    String::from_utf8(bytes).ok()
}

/// The mistyped forms of a value.
fn mistyped(typed: &str) -> Vec<(Kind, String)> {
    let Ok(spec) = Spec::parse(typed) else {
        return Vec::new();
    };
    // The value in the other unit.
    let pair = typed.rfind(" (").filter(|_| typed.ends_with(')'));
    let (own, paired) = typed.split_at(pair.unwrap_or(typed.len()));
    let mut forms = Vec::new();
    let unit = spec.limits().unit().symbol();
    for other in confused(unit) {
        forms.push((Kind::UnitSwapped, own.replace(unit, other) + paired));
    }
    if let Some(number) = first_number(own) {
        let with = |new: &str| {
            format!(
                "{}{new}{}{paired}",
                &own[..number.start],
                &own[number.end..]
            )
        };
        let old = &own[number.clone()];
        for right in [true, false] {
            forms.push((Kind::PointMoved, with(&with_point_moved(old, right))));
        }
        forms.extend(with_digits_swapped(old).map(|new| (Kind::DigitsSwapped, with(&new))));
    }
    let nominal = spec
        .limits()
        .nominal()
        .or(spec.limits().lower())
        .or(spec.limits().upper());
    if let Some(nominal) = nominal.map(|nominal| nominal.text())
        && nominal != own.replace(' ', "\u{a0}")
    {
        forms.push((Kind::LimitDropped, nominal.replace('\u{a0}', " ") + paired));
    }
    if let Some(number) = first_number(paired) {
        let with = |new: &str| {
            format!(
                "{own}{}{new}{}",
                &paired[..number.start],
                &paired[number.end..]
            )
        };
        let old = &paired[number.clone()];
        forms.push((Kind::PairBroken, with(&with_point_moved(old, true))));
        forms.extend(with_digits_swapped(old).map(|new| (Kind::PairBroken, with(&new))));
    }
    // `0.0 bar` is no error.
    let bounds = |spec: &Spec| {
        let limits = spec.limits();
        let unit = limits.unit();
        let value = |value: Option<Quantity>| value.map(|value| value.value().clone());
        let values = [limits.nominal(), limits.lower(), limits.upper()].map(value);
        (unit, values)
    };
    forms.retain(|(kind, form)| {
        let same = Spec::parse(form).is_ok_and(|form| bounds(&form) == bounds(&spec));
        form != typed && (!same || *kind == Kind::PairBroken)
    });
    forms
}

/// The mutants of a file: of each text in quotes that is a value.
fn mutants_of(path: &str, text: &str) -> Vec<Mutant> {
    let mut mutants = Vec::new();
    let mut record = String::new();
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let start = at;
        at += line.len();
        if let Some(head) = line
            .trim()
            .strip_prefix('[')
            .and_then(|head| head.strip_suffix(']'))
        {
            record = head.to_owned();
            continue;
        }
        let Some((key, _)) = line.split_once('=').filter(|_| !line.starts_with('#')) else {
            continue;
        };
        let quotes: Vec<usize> = line.match_indices('"').map(|(quote, _)| quote).collect();
        for pair in quotes.chunks_exact(2) {
            let range = start + pair[0] + 1..start + pair[1];
            let typed = &text[range.clone()];
            for (kind, form) in mistyped(typed) {
                let mut mutated = text.to_owned();
                mutated.replace_range(range.clone(), &form);
                mutants.push(Mutant {
                    kind,
                    path: path.to_owned(),
                    field: format!("{record}.{}", key.trim()),
                    typed: typed.to_owned(),
                    mistyped: form,
                    text: mutated,
                });
            }
        }
    }
    mutants
}

/// The demonstration with one mistyped value after another. What a value does not change is not judged again.
struct Shop {
    sources: Sources,
    recheck: Recheck,
    /// The messages of the findings on the correct values.
    known: BTreeSet<String>,
    /// The file that is mistyped, and its correct text.
    mistyped: Option<(FileId, String)>,
}

impl Shop {
    fn new(files: BTreeMap<String, Vec<u8>>) -> Shop {
        let mut shop = Shop {
            sources: crate::read(&Memory::new(files)),
            recheck: Recheck::default(),
            known: BTreeSet::new(),
            mistyped: None,
        };
        let known = shop.findings();
        shop.known = known.iter().map(|found| found.message.clone()).collect();
        shop
    }

    fn findings(&mut self) -> Findings {
        let findings = self.recheck.check(&self.sources, None, &|| false);
        findings.expect("nothing gives up")
    }

    fn replace(&mut self, file: FileId, text: String) {
        let outdated = replace_text(&mut self.sources, file, text).expect("a short text");
        self.recheck.drop_outdated(&outdated);
    }

    /// The rules that give a finding on a mutant.
    fn found_by(&mut self, mutant: &Mutant) -> BTreeSet<&'static str> {
        let source = self.sources.tree.source(&mutant.path).expect("its file");
        let (file, text) = (source.id, source.text.clone());
        match self.mistyped.take() {
            Some((same, correct)) if same == file => self.mistyped = Some((same, correct)),
            other => {
                if let Some((other, correct)) = other {
                    self.replace(other, correct);
                }
                self.mistyped = Some((file, text));
            }
        }
        self.replace(file, mutant.text.clone());
        let findings = self.findings();
        let findings = findings.iter();
        let new = findings.filter(|finding| !self.known.contains(&finding.message));
        new.map(|finding| finding.rule.name).collect()
    }
}

#[test]
#[allow(clippy::print_stdout, reason = "the figures are a result of the test")]
fn most_mistyped_values_are_found() {
    let files = demo();
    let texts = files.iter().filter(|(path, _)| {
        path.starts_with("machines/") || matches!(path.as_str(), "tools.toml" | "supplies.toml")
    });
    let mutants: Vec<Mutant> = texts
        .flat_map(|(path, bytes)| mutants_of(path, std::str::from_utf8(bytes).unwrap()))
        .collect();
    // The mutants of a file are beside each other, so that few files are corrected between them.
    let outcomes: Vec<BTreeSet<&str>> = mutants
        .par_chunks(mutants.len().div_ceil(4 * rayon::current_num_threads()))
        .flat_map_iter(|mutants| {
            // Most are found without a procedure. Without any, there is a finding that says so.
            let records = files.iter().filter(|(path, _)| !path.contains(".md"));
            let records = records.map(|(path, bytes)| (path.clone(), bytes.clone()));
            let mut records = Shop::new(records.collect());
            let mut shop = Shop::new(files.clone());
            assert!(shop.known.is_empty());
            let mut found_by = |mutant| match records.found_by(mutant) {
                early if !early.is_empty() => early,
                _ => shop.found_by(mutant),
            };
            mutants.iter().map(&mut found_by).collect::<Vec<_>>()
        })
        .collect();
    let missed = missed_fields("value_mutants.toml");
    let mut covered = vec![0; missed.len()];
    let mut by_kind: BTreeMap<Kind, (usize, usize)> = BTreeMap::new();
    let mut by_rule: BTreeMap<&str, usize> = BTreeMap::new();
    let mut unexplained = Vec::new();
    for (mutant, rules) in mutants.iter().zip(&outcomes) {
        let count = by_kind.entry(mutant.kind).or_default();
        count.0 += 1;
        count.1 += usize::from(!rules.is_empty());
        for rule in rules {
            *by_rule.entry(rule).or_default() += 1;
        }
        if rules.is_empty() {
            match missed
                .iter()
                .position(|entry| entry.covers(&mutant.kind, &mutant.path, &mutant.field))
            {
                Some(entry) => covered[entry] += 1,
                None => unexplained.push(mutant.name()),
            }
        }
    }
    let (all, found) = by_kind
        .values()
        .fold((0, 0), |(all, found), kind| (all + kind.0, found + kind.1));
    for (kind, (all, found)) in &by_kind {
        println!("{kind:?}: {found} of {all}");
    }
    println!("{found} of {all} mistyped values are found, by {by_rule:?}");
    assert!(
        unexplained.is_empty(),
        "{} mistyped values are neither found nor listed in `value_mutants.toml`:\n{}",
        unexplained.len(),
        unexplained.join("\n")
    );
    for (entry, covered) in missed.iter().zip(&covered) {
        let is_fair = (1..=MOST_OF_AN_ENTRY).contains(covered) && !entry.reason.trim().is_empty();
        assert!(is_fair, "`{}` covers {covered}", entry.reason);
    }
    assert!(found * 100 >= all * WANTED_IN_100, "{found} of {all}");
}

#[test]
fn numbers_are_mistyped_as_intended() {
    assert_eq!(with_point_moved("9", true), "90");
    assert_eq!(with_point_moved("9", false), "0.9");
    assert_eq!(with_point_moved("0.7", true), "7");
    assert_eq!(with_point_moved("13.75", true), "137.5");
    assert_eq!(with_point_moved("120", false), "12.0");
    assert_eq!(with_digits_swapped("3120").as_deref(), Some("1320"));
    assert_eq!(with_digits_swapped("0.7").as_deref(), Some("7.0"));
    assert_eq!(with_digits_swapped("11"), None);
    let forms = mistyped("9 N·m ± 1 N·m (80 in·lbf)");
    let forms: Vec<&str> = forms.iter().map(|(_, form)| form.as_str()).collect();
    assert_eq!(
        forms,
        [
            "9 ft·lbf ± 1 ft·lbf (80 in·lbf)",
            "9 in·lbf ± 1 in·lbf (80 in·lbf)",
            "90 N·m ± 1 N·m (80 in·lbf)",
            "0.9 N·m ± 1 N·m (80 in·lbf)",
            "9 N·m (80 in·lbf)",
            "9 N·m ± 1 N·m (800 in·lbf)",
            "9 N·m ± 1 N·m (08 in·lbf)",
        ]
    );
}
