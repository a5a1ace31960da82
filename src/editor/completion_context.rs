//! What is being typed at a place in a text.

use crate::prose::{ThingKind, Verb};
use crate::tree::{Source, SourceKind};
use std::ops::Range;

/// What can be completed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Context {
    /// The verb of an action.
    Verb,
    /// The thing of an action.
    Thing(Verb),
    /// What follows the thing after `/`.
    Qualifier(Verb, String),
    /// The target of a reference, after `see:step/` and the like.
    Place(String),
    /// A mark at the end of a step.
    Mark,
    /// A mark of a section.
    SectionMark,
    /// A machine that a mark limits a step to.
    Machine,
    /// The rule that a mark waives, or whose level is set.
    Rule,
    /// A field of the front matter. Has those that are written already.
    FrontField(Vec<String>),
    /// The value of a field of the front matter.
    FrontValue(String),
    /// A thing that is left undone.
    LeftUndone,
    /// The value of a field of a record. Has the keys of the tables that the record is in, without ids.
    Value { tables: Vec<String>, field: String },
}

/// What is being typed at a byte of a file, and the bytes that it replaces.
pub(super) fn context(file: &Source, offset: usize) -> Option<(Context, Range<usize>)> {
    let text = file.text.as_str();
    let line_start = text[..offset].rfind('\n').map_or(0, |end| end + 1);
    let before = &text[line_start..offset];
    if let Some(found) = action(text, offset, before) {
        return Some(found);
    }
    let is_markdown = matches!(
        file.kind,
        SourceKind::Procedure { .. } | SourceKind::Fault { .. }
    );
    if !is_markdown {
        return toml(text, offset, before);
    }
    match front_matter(text) {
        Some(front) if front.contains(&offset) || offset == front.end => {
            front_field(text, offset, before, &front)
        }
        _ => mark(text, offset, before),
    }
}

/// The bytes of the front matter, without its marks. If its end is not written yet, all that follows.
pub(super) fn front_matter(text: &str) -> Option<Range<usize>> {
    let first = text.split_inclusive('\n').next()?;
    if first.trim_end() != "+++" {
        return None;
    }
    let rest = &text[first.len()..];
    let mut at = 0;
    for line in rest.split_inclusive('\n') {
        if line.trim_end() == "+++" {
            return Some(first.len()..first.len() + at);
        }
        at += line.len();
    }
    Some(first.len()..text.len())
}

/// The end of the word that is being typed.
fn word_end(text: &str, offset: usize, is_part: impl Fn(char) -> bool) -> usize {
    let rest = &text[offset..];
    offset + rest.find(|letter| !is_part(letter)).unwrap_or(rest.len())
}

fn is_of_id(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '-'
}

/// An action: after `](` on the same line, without a `)` since.
fn action(text: &str, offset: usize, before: &str) -> Option<(Context, Range<usize>)> {
    let address = &before[before.rfind("](")? + 2..];
    if address.contains([')', ' ', '<']) {
        return None;
    }
    let end = word_end(text, offset, is_of_id);
    let from = |typed: &str| offset - typed.len()..end;
    let Some((verb, thing)) = address.split_once(':') else {
        // The whole verb, with its colon.
        let end = if text[end..].starts_with(':') {
            end + 1
        } else {
            end
        };
        return Some((Context::Verb, offset - address.len()..end));
    };
    let verb = Verb::find(verb)?;
    let Some((key, typed)) = thing.split_once('/') else {
        return Some((Context::Thing(verb), from(thing)));
    };
    if verb.takes() == ThingKind::Place {
        if let ("step", Some((verb, typed))) = (key, typed.split_once('/')) {
            return Some((Context::Thing(Verb::find(verb)?), from(typed)));
        }
        let end = word_end(text, offset, |letter| is_of_id(letter) || letter == '.');
        return Some((Context::Place(key.to_owned()), offset - typed.len()..end));
    }
    Some((Context::Qualifier(verb, key.to_owned()), from(typed)))
}

/// A mark: after `{`, without a `}` since.
fn mark(text: &str, offset: usize, before: &str) -> Option<(Context, Range<usize>)> {
    let open = before.rfind('{')?;
    let inside = &before[open + 1..];
    if inside.contains('}') {
        return None;
    }
    if before.starts_with('#') {
        let end = word_end(text, offset, |letter| {
            is_of_id(letter) || ".}".contains(letter)
        });
        return Some((Context::SectionMark, offset - inside.len() - 1..end));
    }
    if let Some((mark, value)) = inside.rsplit_once("=\"") {
        let mark = mark.rsplit(' ').next().unwrap_or_default();
        let is_open = !value.contains('"');
        let typed = value.rsplit(' ').next().unwrap_or_default();
        let range = offset - typed.len()..word_end(text, offset, is_of_id);
        return match mark {
            "only" if is_open => Some((Context::Machine, range)),
            "waive" if is_open && !value.contains(':') => Some((Context::Rule, range)),
            _ => None,
        };
    }
    let end = word_end(text, offset, |letter| is_of_id(letter) || letter == '}');
    Some((Context::Mark, offset - inside.len() - 1..end))
}

/// A field of the front matter, or its value.
fn front_field(
    text: &str,
    offset: usize,
    before: &str,
    front: &Range<usize>,
) -> Option<(Context, Range<usize>)> {
    let table = table_before(&text[front.start..offset]);
    if let Some((field, typed)) = open_value(&text[front.start..offset]) {
        let end = word_end(text, offset, is_of_id);
        let is_list = matches!(
            field.as_str(),
            "machines" | "begin" | "finish" | "follow-on"
        );
        return is_list.then(|| (Context::FrontValue(field), offset - typed.len()..end));
    }
    if before.contains(['=', '[', '"']) || !before.trim_start().chars().all(is_of_id) {
        return None;
    }
    let typed = before.trim_start();
    let range = offset - typed.len()..word_end(text, offset, is_of_id);
    if table.as_deref() == Some("left-undone") {
        return Some((Context::LeftUndone, range));
    }
    let written = text[front.clone()].lines();
    let written = written.filter_map(|line| line.split_once('='));
    let written = written.map(|(key, _)| key.trim().to_owned()).collect();
    Some((Context::FrontField(written), range))
}

/// The name of a record in a TOML file.
fn toml(text: &str, offset: usize, before: &str) -> Option<(Context, Range<usize>)> {
    let table = table_before(&text[..offset]).unwrap_or_default();
    let tables = table.split('.').step_by(2).map(str::to_owned);
    // A field above all tables is in none.
    let tables: Vec<String> = tables.filter(|table| !table.is_empty()).collect();
    let end = word_end(text, offset, is_of_id);
    if let Some((field, typed)) = open_value(&text[..offset]) {
        // An action, as in `after = ["run:engine"]`.
        if let Some((verb, typed)) = typed.split_once(':') {
            let verb = Verb::find(verb)?;
            return Some((Context::Thing(verb), offset - typed.len()..end));
        }
        let range = offset - typed.len()..end;
        return Some((Context::Value { tables, field }, range));
    }
    let typed = before.trim_start();
    let is_key = typed.chars().all(is_of_id);
    (tables == ["levels"] && is_key).then(|| (Context::Rule, offset - typed.len()..end))
}

/// The header of the table that the end of a text is in.
fn table_before(text: &str) -> Option<String> {
    let headers = text.lines().rev();
    let mut headers = headers.filter_map(|line| line.trim().strip_prefix('[')?.strip_suffix(']'));
    headers.next().map(str::to_owned)
}

/// The field whose text is open at the end of a text, and what is typed of that text: in `begin = ["make-safe", "oi`.
fn open_value(text: &str) -> Option<(String, &str)> {
    let start = field_start(text)?;
    let (field, value) = text[start..].split_once('=')?;
    let is_open = value.matches('"').count() % 2 == 1;
    let typed = value.rsplit('"').next().unwrap_or_default();
    let is_name = typed
        .chars()
        .all(|letter| is_of_id(letter) || letter == ':');
    (is_open && is_name).then(|| (field.trim().to_owned(), typed))
}

/// The start of the last line that begins a field. A list may go over several lines.
fn field_start(text: &str) -> Option<usize> {
    let mut end = text.len();
    loop {
        let start = text[..end].rfind('\n').map_or(0, |end| end + 1);
        let line = &text[start..end];
        let key = line.split_once('=').map(|(key, _)| key.trim());
        if key.is_some_and(|key| !key.is_empty() && key.chars().all(is_of_id)) {
            return Some(start);
        }
        if start == 0 || line.trim_start().starts_with('[') || line.trim_end() == "+++" {
            return None;
        }
        end = start - 1;
    }
}
