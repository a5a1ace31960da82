//! Findings as data, with the source lines they point at.

use crate::finding::{Finding, Findings, Mark};
use crate::tree::{Source, Tree};
use serde::Serialize;

/// A finding.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FindingEntry {
    /// `error`, `warning` or `advice`.
    pub level: String,
    /// What is wrong, with the jobs it was found in.
    pub message: String,
    /// The name of the rule. None for an error without a rule, such as a folder that can't be opened.
    pub rule: Option<String>,
    /// The primary place, and then the others.
    pub places: Vec<Location>,
    /// How to fix it.
    pub help: Option<String>,
}

impl FindingEntry {
    /// An error without a rule or a place.
    #[must_use]
    pub fn trouble(message: impl Into<String>) -> FindingEntry {
        FindingEntry {
            level: crate::finding::Level::Error.to_string(),
            message: message.into(),
            rule: None,
            places: Vec::new(),
            help: None,
        }
    }
}

/// A place in a source file, with its line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Location {
    /// The file's path, with the tree's name: `procedures/air/cover.md`.
    pub path: String,
    /// The line number, from 1.
    pub line: usize,
    /// The column of the first character, from 1.
    pub column: usize,
    /// The text before it in the line.
    pub before: String,
    /// The text of the place, at most to the end of the line.
    pub marked: String,
    /// The text after it in the line.
    pub after: String,
    /// The label. May be empty.
    pub label: String,
}

/// The most characters of each part of a line.
const MAX_PART: usize = 300;

/// All findings as data, in their order.
#[must_use]
pub fn entries(tree: &Tree, findings: &Findings) -> Vec<FindingEntry> {
    findings.iter().map(|found| entry(tree, found)).collect()
}

fn entry(tree: &Tree, found: &Finding) -> FindingEntry {
    let marks = found.primary.iter().chain(&found.others);
    FindingEntry {
        level: found.level.to_string(),
        message: found.whole_message(),
        rule: Some(found.rule.name.to_owned()),
        places: marks.map(|mark| place(tree, mark)).collect(),
        help: found.help.clone(),
    }
}

fn place(tree: &Tree, mark: &Mark) -> Location {
    let source = tree.file(mark.span.file);
    let (line, column) = source.place(mark.span.start());
    let (before, marked, after) = in_line(source, mark.span.start(), mark.span.end());
    Location {
        path: format!("{}/{}", tree.name, source.path),
        line,
        column,
        before: last(before),
        marked: first(marked),
        after: first(after),
        label: mark.label.clone(),
    }
}

/// The line in which a range of a source begins, split before and after the range.
fn in_line(source: &Source, start: usize, end: usize) -> (&str, &str, &str) {
    let text = source.text.as_str();
    let (before, from_here) = text.split_at(start.min(text.len()));
    let before = before.rsplit('\n').next().unwrap_or_default();
    let line = from_here.split('\n').next().unwrap_or_default();
    let line = line.strip_suffix('\r').unwrap_or(line);
    let (marked, after) = line.split_at(end.saturating_sub(start).min(line.len()));
    (before, marked, after)
}

/// The beginning of a text, shortened.
fn first(text: &str) -> String {
    match text.char_indices().nth(MAX_PART) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

/// The end of a text, shortened.
fn last(text: &str) -> String {
    match text.char_indices().rev().nth(MAX_PART - 1) {
        Some((at, _)) if at > 0 => format!("…{}", &text[at..]),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Span;
    use crate::tree::{self, Memory};

    fn place_of(text: &str, what: &str) -> Location {
        let tree = tree::read(&Memory::new([("shop.toml", text)]));
        let start = text.find(what).expect("it is there");
        let source = &tree.files[0];
        let span: Span = source.span(start..start + what.len());
        let label = "here".to_owned();
        place(&tree, &Mark { span, label })
    }

    #[test]
    fn a_place_is_shown_in_its_line() {
        let place = place_of("a = 1\r\nnäme = \"x y\"\r\nb = 2\r\n", "\"x");
        assert_eq!((place.line, place.column), (2, 8));
        let parts = [place.before, place.marked, place.after];
        assert_eq!(parts, ["näme = ", "\"x", " y\""]);
        assert_eq!(place.path, "procedures/shop.toml");
        assert_eq!(place.label, "here");
    }

    #[test]
    fn the_first_line_of_a_place_is_shown() {
        let place = place_of("a = [\n 1,\n]\n", "[\n 1");
        let parts = [place.before, place.marked, place.after];
        assert_eq!(parts, ["a = ", "[", ""]);
    }

    #[test]
    fn the_very_end_of_a_file_is_a_place() {
        let tree = tree::read(&Memory::new([("shop.toml", "name")]));
        let source = &tree.files[0];
        let found = Finding::new(tree::RULES[0], "it ends").primary(source.span(4..4), "");
        let place = &entry(&tree, &found).places[0];
        assert_eq!((place.line, place.column), (1, 5));
        assert_eq!((place.before.as_str(), place.marked.as_str()), ("name", ""));
    }

    #[test]
    fn a_long_line_is_shortened() {
        let (long, marked) = ("ü".repeat(5000), "x".repeat(5000));
        let place = place_of(&format!("{long}{marked}{long}"), &marked);
        for part in [&place.before, &place.marked, &place.after] {
            assert_eq!(part.chars().count(), MAX_PART + 1);
        }
        assert!(place.before.starts_with('…') && place.after.ends_with('…'));
        let whole = place_of(&format!("{}x", "ü".repeat(MAX_PART)), "x");
        assert!(!whole.before.starts_with('…'));
    }
}
