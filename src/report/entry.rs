//! Findings as data, with the source lines they point at.

use super::subject::Region;
use crate::finding::{Edit, Finding, Findings, Mark};
use crate::tree::{Source, Tree};
use serde::Serialize;

/// A finding as plain data.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct FindingEntry {
    /// `error`, `warning` or `advice`.
    pub level: String,
    /// What is wrong, with the jobs it was found in.
    pub message: String,
    /// The name of the rule. None for an error without a rule, such as a folder that can't be opened.
    pub rule: Option<String>,
    /// The primary location, followed by the others.
    pub places: Vec<Location>,
    /// How to fix it.
    pub help: Option<String>,
    /// The changes that fix it, to be applied together. Empty if the fix is not known exactly.
    pub edits: Vec<EditEntry>,
}

/// A replacement in a source file as plain data.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct EditEntry {
    /// The file's path, with the tree's name.
    pub path: String,
    /// Byte offset of the start of the replaced text in the file, not counting a byte order mark.
    pub start: usize,
    /// Byte offset of its end, exclusive. Equal to `start` if text is inserted.
    pub end: usize,
    /// The line number of the start, from 1.
    pub line: usize,
    /// The column of the start, from 1.
    pub column: usize,
    /// The new text.
    pub replacement: String,
}

impl FindingEntry {
    /// An error without a rule or a place.
    #[must_use]
    pub(crate) fn without_rule(message: impl Into<String>) -> FindingEntry {
        FindingEntry {
            level: crate::finding::Level::Error.to_string(),
            message: message.into(),
            rule: None,
            places: Vec::new(),
            help: None,
            edits: Vec::new(),
        }
    }
}

/// A range in a source file, with the text of its line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Location {
    /// The file's path, with the tree's name: `procedures/air/cover.md`.
    pub path: String,
    /// The line number, from 1.
    pub line: usize,
    /// The column of the first character, from 1.
    pub column: usize,
    /// The line number of the end.
    pub end_line: usize,
    /// The column after the last character.
    pub end_column: usize,
    /// The text of the line before the range.
    pub before: String,
    /// The text of the range, at most to the end of the line.
    pub marked: String,
    /// The text of the line after the range.
    pub after: String,
    /// The label. May be empty.
    pub label: String,
}

/// The most characters of each part of a line.
const MAX_PART: usize = 300;

/// All findings as data, in their order, to be written as JSON.
///
/// ```
/// use benchleaf::{check, read, report, tree::Memory};
///
/// let sources = read(&Memory::new([("shop.toml", "nmae = \"Elmbrook workshop\"")]));
/// let entries = report::entries(&sources.tree, &check(&sources).findings);
/// let unknown = entries.iter().find(|entry| entry.rule.as_deref() == Some("unknown-field")).unwrap();
/// assert_eq!((unknown.places[0].line, unknown.help.as_deref()), (1, Some("did you mean `name`?")));
/// let json = serde_json::to_value(&unknown.edits).unwrap();
/// assert_eq!(json, serde_json::json!([{
///     "path": "procedures/shop.toml", "start": 0, "end": 4, "line": 1, "column": 1, "replacement": "name",
/// }]));
/// ```
#[must_use]
pub fn entries(tree: &Tree, findings: &Findings) -> Vec<FindingEntry> {
    findings
        .iter()
        .map(|finding| entry_in(tree, &tree.name, finding))
        .collect()
}

/// A finding as data, with paths that begin with a folder.
pub(super) fn entry_in(tree: &Tree, folder: &str, finding: &Finding) -> FindingEntry {
    let marks = finding.primary.iter().chain(&finding.others);
    FindingEntry {
        level: finding.level.to_string(),
        message: finding.whole_message(),
        rule: Some(finding.rule.name.to_owned()),
        places: marks.map(|mark| location(tree, folder, mark)).collect(),
        help: finding.help.clone(),
        edits: finding
            .edits
            .iter()
            .map(|edit| self::edit(tree, folder, edit))
            .collect(),
    }
}

/// A file's path in a folder, which is empty if it is the root of the repository.
fn path_in(folder: &str, source: &Source) -> String {
    match folder {
        "" => source.path.clone(),
        folder => format!("{folder}/{}", source.path),
    }
}

fn edit(tree: &Tree, folder: &str, edit: &Edit) -> EditEntry {
    let source = tree.file(edit.span.file);
    let (line, column) = source.place(edit.span.start());
    EditEntry {
        path: path_in(folder, source),
        start: edit.span.start(),
        end: edit.span.end(),
        line,
        column,
        replacement: edit.replacement.clone(),
    }
}

fn location(tree: &Tree, folder: &str, mark: &Mark) -> Location {
    let source = tree.file(mark.span.file);
    let region = Region::of(source, mark.span);
    let (before, marked, after) = split_line(source, mark.span.start(), mark.span.end());
    Location {
        path: path_in(folder, source),
        line: region.line,
        column: region.column,
        end_line: region.end_line,
        end_column: region.end_column,
        before: shorten_start(before),
        marked: shorten_end(marked),
        after: shorten_end(after),
        label: mark.label.clone(),
    }
}

/// Splits the line in which a range begins: the text before, in and after the range.
fn split_line(source: &Source, start: usize, end: usize) -> (&str, &str, &str) {
    let text = source.text.as_str();
    let (before, rest) = text.split_at(start.min(text.len()));
    let before = before.rsplit('\n').next().unwrap_or_default();
    let line = rest.split('\n').next().unwrap_or_default();
    let line = line.strip_suffix('\r').unwrap_or(line);
    let (marked, after) = line.split_at(end.saturating_sub(start).min(line.len()));
    (before, marked, after)
}

/// Cuts off the end of a long text.
fn shorten_end(text: &str) -> String {
    match text.char_indices().nth(MAX_PART) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

/// Cuts off the start of a long text.
fn shorten_start(text: &str) -> String {
    match text.char_indices().rev().nth(MAX_PART - 1) {
        Some((start, _)) if start > 0 => format!("…{}", &text[start..]),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Span;
    use crate::tree::{self, Memory};

    fn location_of(text: &str, marked: &str) -> Location {
        let tree = tree::read(&Memory::new([("shop.toml", text)]));
        let start = text.find(marked).expect("the marked text");
        let source = &tree.files[0];
        let span: Span = source.span(start..start + marked.len());
        let label = "here".to_owned();
        location(&tree, &tree.name, &Mark { span, label })
    }

    #[test]
    fn location_has_the_text_of_its_line() {
        let location = location_of("a = 1\r\nnäme = \"x y\"\r\nb = 2\r\n", "\"x");
        assert_eq!((location.line, location.column), (2, 8));
        let parts = [location.before, location.marked, location.after];
        assert_eq!(parts, ["näme = ", "\"x", " y\""]);
        assert_eq!(location.path, "procedures/shop.toml");
        assert_eq!(location.label, "here");
    }

    #[test]
    fn range_of_several_lines_is_cut_after_the_first() {
        let location = location_of("a = [\n 1,\n]\n", "[\n 1");
        let parts = [location.before, location.marked, location.after];
        assert_eq!(parts, ["a = ", "[", ""]);
    }

    #[test]
    fn end_of_file_has_a_location() {
        let tree = tree::read(&Memory::new([("shop.toml", "name")]));
        let source = &tree.files[0];
        let finding = Finding::new(tree::RULES[0], "it ends").primary(source.span(4..4), "");
        let location = &entry_in(&tree, &tree.name, &finding).places[0];
        assert_eq!((location.line, location.column), (1, 5));
        assert_eq!(
            (location.before.as_str(), location.marked.as_str()),
            ("name", "")
        );
    }

    #[test]
    fn long_line_is_shortened_around_the_range() {
        let (long, marked) = ("ü".repeat(3000), "x".repeat(3000));
        let location = location_of(&format!("{long}{marked}{long}"), &marked);
        for part in [&location.before, &location.marked, &location.after] {
            assert_eq!(part.chars().count(), MAX_PART + 1);
        }
        assert!(location.before.starts_with('…') && location.after.ends_with('…'));
        let whole = location_of(&format!("{}x", "ü".repeat(MAX_PART)), "x");
        assert!(!whole.before.starts_with('…'));
    }
}
