//! The lists of mutants that are not found: of procedures in `missed.toml`, of records in `missed_fields.toml` and
//! `value_mutants.toml`.

use super::super::support::root;
use super::mutation::{Kind, Mutant};
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// The most mutants that an entry of the list may cover.
pub(in super::super) const MOST_OF_AN_ENTRY: usize = 20;

/// An entry of the list: mutants that may have no finding.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Missed {
    /// Why the fault does no harm, or why the sources do not allow finding it.
    pub(super) reason: String,
    kind: Vec<Kind>,
    /// The procedures, as patterns. Empty for all.
    #[serde(default)]
    procedure: Vec<String>,
    /// The machines, as patterns. Empty for all.
    #[serde(default)]
    machine: Vec<String>,
    /// Patterns. Each action of the mutated steps must match one of them. `*` matches any text.
    #[serde(default)]
    actions: Vec<String>,
    /// For swapped steps: the patterns for one of the steps, and for the other.
    #[serde(default)]
    between: Option<[Vec<String>; 2]>,
}

/// Whether a name matches a pattern. Each `*` in it matches any text.
fn matches_pattern(name: &str, pattern: &str) -> bool {
    let Some((start, rest)) = pattern.split_once('*') else {
        return name == pattern;
    };
    let Some(name) = name.strip_prefix(start) else {
        return false;
    };
    (0..=name.len())
        .filter(|index| name.is_char_boundary(*index))
        .any(|index| matches_pattern(&name[index..], rest))
}

impl Missed {
    pub(super) fn covers(&self, mutant: &Mutant<'_>, machine: &str) -> bool {
        let all_match = |actions: &[String], patterns: &[String]| {
            actions.iter().all(|action| {
                patterns
                    .iter()
                    .any(|pattern| matches_pattern(action, pattern))
            })
        };
        let is_listed = |names: &[String], name: &str| {
            names.is_empty() || names.iter().any(|pattern| matches_pattern(name, pattern))
        };
        let actions = match (&self.between, mutant.actions.as_slice()) {
            (Some([patterns, other_patterns]), [first, second]) => {
                (all_match(first, patterns) && all_match(second, other_patterns))
                    || (all_match(first, other_patterns) && all_match(second, patterns))
            }
            (Some(_), _) => false,
            (None, actions) => actions
                .iter()
                .all(|actions| all_match(actions, &self.actions)),
        };
        self.kind.contains(&mutant.kind)
            && is_listed(&self.procedure, &mutant.procedure.id)
            && is_listed(&self.machine, machine)
            && actions
    }
}

/// An entry of a list of mutants of records, whose kinds are `K`: mutants that may have no finding.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(in super::super) struct MissedField<K> {
    /// Why the sources do not allow finding it.
    pub(in super::super) reason: String,
    pub(super) kind: Vec<K>,
    /// The file, as a pattern.
    pub(super) file: String,
    /// The record and field, as patterns.
    pub(super) field: Vec<String>,
}

impl<K: PartialEq> MissedField<K> {
    /// Whether it covers a mutant of a kind in a file. `field` is the record and field: `part.bowl-nut.torque`.
    pub(in super::super) fn covers(&self, kind: &K, file: &str, field: &str) -> bool {
        let mut fields = self.field.iter();
        self.kind.contains(kind)
            && matches_pattern(file, &self.file)
            && fields.any(|pattern| matches_pattern(field, pattern))
    }
}

/// Reads a list of mutants of records. `path` is relative to `tests/internal`.
pub(in super::super) fn missed_fields<K: DeserializeOwned>(path: &str) -> Vec<MissedField<K>> {
    #[derive(Deserialize)]
    #[serde(bound = "K: DeserializeOwned")]
    struct Table<K> {
        missed: Vec<MissedField<K>>,
    }
    let list = root().join("tests/internal").join(path);
    let table: Table<K> = toml::from_str(&std::fs::read_to_string(list).unwrap()).unwrap();
    table.missed
}
