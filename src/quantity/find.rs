//! Values with units in running text.
//!
//! The grammar is that of the parser, but the search is more careful. Most numbers in prose are not
//! values, and many words are also units: `step 4 in the manual`, `3 at a time`, `1 in 10`. Ambiguous
//! text gives no value, because a false finding costs more trust than a missed value.

use std::ops::Range;

use super::found::{Found, Refused, ValuesInText};
use super::gallons::Gallons;
use super::limits::Limits;
use super::pair::pairs_after;
use super::prose;
use super::scan::{digits_at, is_dash, starts_words};
use super::scan_number::is_number_start;
use super::tables;

/// Finds the values with a unit in running text, in order.
///
/// A value may be followed by the same value in another unit: in brackets, after `/`, `=`, `or` or a
/// comma, in bold, or in the next column of a Markdown table that has the units in its heading.
///
/// All forms of [`Limits::parse`] are found, and the forms `nm`, `ft/lbs` and `in/lbs`, which it
/// refuses. Text that is not certainly a value is ignored: a number in a word, date, part number or
/// label; a number before a unit that is also a common word (`4 in the manual`); a number with a
/// comma; sums of values (`5 ft 6 in`). Sizes (`10 mm wrench`) and times (`5 min`) are values; the
/// caller decides what they mean. `gallons` says what `gal` alone means.
///
/// ```
/// use benchleaf::quantity::{Agreement, Gallons, find};
///
/// let found = |text| find(text, Gallons::Unstated).found;
/// let text = "With the M6 nuts at 9.8 N·m (7.2 ft·lbf), see step 4 in the manual.";
/// let [torque] = &found(text)[..] else { panic!("one value") };
/// assert_eq!(&text[torque.range.clone()], "9.8 N·m");
/// let [paired] = &torque.paired[..] else { panic!("one other unit") };
/// assert_eq!(&text[paired.range.clone()], "7.2 ft·lbf");
/// assert_eq!(paired.agreement, Agreement::Equal);
///
/// // 9 N·m are 80 in·lbf.
/// let text = "Tighten to 9 N·m / 98 in-lb.";
/// assert_eq!(found(text)[0].paired[0].agreement, Agreement::Contradicting);
/// ```
#[must_use]
pub fn find(text: &str, gallons: Gallons) -> ValuesInText {
    let mut values = ValuesInText::default();
    let mut at = 0;
    let mut previous = None;
    let mut quotes = 0_usize;
    // The end of the last value.
    let mut taken = 0;
    loop {
        let skipped = skippable(&text.as_bytes()[at..]);
        if skipped > 0 {
            at += skipped;
            previous = text[..at].chars().next_back();
        }
        let Some(c) = text[at..].chars().next() else {
            break;
        };
        let end = may_start(text, at, previous)
            .then(|| {
                let start = bound_start(text, at)
                    .filter(|start| *start >= taken)
                    .unwrap_or(at);
                take(text, start, quotes.is_multiple_of(2), gallons, &mut values)
            })
            .flatten()
            .filter(|end| *end > at);
        if let Some(end) = end {
            previous = text[at..end].chars().next_back();
            at = end;
            taken = end;
            continue;
        }
        quotes += usize::from(c == '"');
        previous = Some(c);
        at += c.len_utf8();
    }
    tables::add_columns(text, gallons, &mut values.found);
    values
}

/// The number of bytes to skip: characters that neither start a value nor help to decide whether
/// one follows. Most of a text is skipped.
fn skippable(text: &[u8]) -> usize {
    let mut at = 0;
    while let Some(next) = text[at..]
        .iter()
        .position(|byte| IS_SIGNIFICANT[usize::from(*byte)])
    {
        at += next;
        let is_skipped = match text[at] {
            b'a' | b'A' => !matches!(text.get(at + 1), Some(b't' | b'T')),
            b'.' => !text.get(at + 1).is_some_and(u8::is_ascii_digit),
            _ => false,
        };
        if !is_skipped {
            return at;
        }
        at += 1;
    }
    text.len()
}

/// Whether a byte may start a value or help to decide whether one follows.
const IS_SIGNIFICANT: [bool; 256] = {
    let mut significant = [false; 256];
    let mut byte = 0;
    while byte < 256 {
        #[allow(clippy::cast_possible_truncation, reason = "it is less than 256")]
        let is_plain = (byte as u8).is_ascii()
            && !matches!(
                byte as u8,
                b'0'..=b'9' | b'(' | b'a' | b'A' | b'.' | b'-' | b'"'
            );
        significant[byte] = !is_plain;
        byte += 1;
    }
    significant
};

/// Whether a value can start at `at`, after the character `previous`.
fn may_start(text: &str, at: usize, previous: Option<char>) -> bool {
    let is_separated = match previous {
        None => true,
        // A value may follow a colon (`torque:9 N·m`), but 10:15 is a time.
        Some(':') => !text[..at - 1].ends_with(|c: char| c.is_ascii_digit()),
        // Marks of emphasis, but not a name: `__9 N·m__`, `part_9`.
        Some('_') => {
            let before = text[..at].trim_end_matches('_').chars().next_back();
            before.is_none_or(char::is_whitespace)
        }
        Some(c) => {
            c.is_whitespace()
                || matches!(
                    c,
                    '(' | '['
                        | '{'
                        | '"'
                        | '“'
                        | '‘'
                        | '*'
                        | '|'
                        | '~'
                        | '≈'
                        | '<'
                        | '>'
                        | '≤'
                        | '≥'
                        | '='
                        | '–'
                        | '—'
                        | '×'
                )
        }
    };
    // Checked first, so that a long run of digits is read once and not once for each digit.
    if !is_separated {
        return false;
    }
    let rest = &text[at..];
    let mut next = rest.chars();
    match next.next() {
        Some('(') => next.next().is_some_and(is_number_start),
        Some('a' | 'A') => {
            let bound = |bound: &str| starts_words(rest, &["at", bound]);
            bound("least") || bound("most")
        }
        Some('≤' | '≥') => true,
        Some('.') => !digits_at(&rest[1..]).is_empty(),
        Some(c) if is_dash(c) => next.next().is_some_and(is_number_start),
        // A number with a full stop, such as that of a step, has no unit.
        Some('0'..='9') => {
            let after = &rest[digits_at(rest).len()..];
            let stop = after.strip_prefix('.');
            stop.is_none_or(|after| !digits_at(after).is_empty())
        }
        Some(c) => is_number_start(c),
        None => false,
    }
}

/// Words before a number that belong to its value: `max 0.1 mm`, `between 8 and 10 N·m`. They are looked up from the
/// number, because there are fewer numbers than words.
const BOUND_WORDS: [&str; 8] = [
    "max", "max.", "maximum", "min", "min.", "minimum", "up to", "between",
];

/// Where the value of the number at `at` starts, if a word before it belongs to it.
fn bound_start(text: &str, at: usize) -> Option<usize> {
    let before = text[..at].trim_end_matches([' ', '\u{a0}']);
    // The last letters of the words.
    if before.len() == at || !before.ends_with(['x', 'X', 'm', 'M', 'n', 'N', 'o', 'O', '.']) {
        return None;
    }
    BOUND_WORDS.iter().find_map(|word| {
        let start = before.len().checked_sub(word.len())?;
        let is_word = before.get(start..)?.eq_ignore_ascii_case(word);
        let is_whole = !before[..start].ends_with(char::is_alphanumeric);
        (is_word && is_whole).then_some(start)
    })
}

/// Adds the value at `at` to `values` if there is one. Returns where to continue, if after `at`.
fn take(
    text: &str,
    at: usize,
    quotes_are_closed: bool,
    gallons: Gallons,
    values: &mut ValuesInText,
) -> Option<usize> {
    let (limits, end) = match prose::in_prose(text, at, gallons) {
        Ok(found) => found,
        Err(refused) => {
            let (error, end) = refused?;
            let range = error.range();
            if is_certain(text, &(at..end), quotes_are_closed) {
                values.refused.push(Refused { range, error });
            }
            return (end > at).then_some(end);
        }
    };
    if let Some(end) = sum_end(text, end, &limits) {
        return Some(end);
    }
    let range = at..end;
    let typed = &text[range.clone()];
    // Parentheses around the whole do not belong to the value, which is found inside them.
    let is_wrapped = typed.starts_with('(') && typed.ends_with(')');
    if is_wrapped || !is_certain(text, &range, quotes_are_closed) {
        return None;
    }
    let paired = pairs_after(text, &range, &limits, gallons);
    let end = paired.last().map_or(end, |paired| paired.range.end);
    values.found.push(Found {
        range,
        limits,
        paired,
    });
    Some(end)
}

/// Words before a number that identifies something and measures nothing.
const LABELS: &[&str] = &[
    "appendix", "bay", "bin", "bolt", "bolts", "box", "chapter", "class", "cylinder", "drawer",
    "fig", "figs", "figure", "figures", "grade", "group", "item", "items", "line", "model", "no",
    "nos", "note", "number", "nut", "nuts", "option", "p", "page", "pages", "part", "parts", "pos",
    "position", "pp", "rev", "revision", "row", "screw", "screws", "section", "sections", "sheet",
    "shelf", "stage", "step", "steps", "stud", "studs", "table", "tables", "type", "version",
    "zone",
];

/// Words after `in` that make it a preposition even after a decimal number.
const AFTER_PREPOSITION: &[&str] = &[
    "a", "all", "an", "any", "both", "case", "each", "either", "every", "front", "it", "its",
    "line", "one", "order", "our", "place", "position", "that", "the", "their", "these", "this",
    "those", "turn", "use", "your",
];

/// Whether the text at `range` is certainly a value, judged by the words around it.
fn is_certain(text: &str, range: &Range<usize>, quotes_are_closed: bool) -> bool {
    let typed = &text[range.clone()];
    let stem = typed.trim_end_matches(|c: char| c.is_alphabetic() || c == '"');
    let unit = &typed[stem.len()..];
    let after = &text[range.end..];
    let next = after.trim_start();
    let is_spaced = next.len() < after.len();
    let next_word = word(next);
    let before = last_word(&text[..range.start]).to_lowercase();
    let is_labelled = LABELS.binary_search(&before.as_str()).is_ok();
    let number_follows = is_spaced && next.starts_with(|c: char| c.is_ascii_digit());
    let word_follows = is_spaced && !next_word.is_empty();
    match unit {
        // `4"` in quotation marks is a quoted 4.
        "\"" => quotes_are_closed,
        // Prepositions and ordinals: `4 in the manual`, `1 in 10`, `apply 2 second coats`.
        "in" | "In" | "IN" | "second" => {
            let is_whole = !stem.contains(['.', '/', '½', '¼', '¾', '⅛', '⅜', '⅝', '⅞']);
            let is_preposition = is_whole
                || AFTER_PREPOSITION
                    .binary_search(&&*next_word.to_lowercase())
                    .is_ok();
            !(is_labelled || number_follows || word_follows && is_preposition)
        }
        // `clearance 0.10 min, 0.15 max`.
        "min" => !is_labelled && !has_word(next, "max"),
        // Grades of oil, resistors, decades: 10W, 4K, the 1990s.
        "W" | "K" | "s" if stem.ends_with(|c: char| c.is_ascii_digit()) => false,
        "rev" | "Rev" | "turn" | "pt" => !is_labelled && !number_follows,
        // A single letter is as often the name of a variant as a unit: figure 3 A.
        _ if unit.chars().count() == 1 => !is_labelled && !number_follows,
        _ => true,
    }
}

/// The first word of `text`.
fn word(text: &str) -> &str {
    let end = text
        .find(|c: char| !c.is_alphabetic())
        .unwrap_or(text.len());
    &text[..end]
}

/// The last word of `text`, ignoring spaces and a full stop after it.
fn last_word(text: &str) -> &str {
    let text = text.trim_end().trim_end_matches(['.', '(']);
    let start = text
        .char_indices()
        .rev()
        .take_while(|(_, c)| c.is_alphabetic())
        .last();
    start.map_or("", |(start, _)| &text[start..])
}

/// Whether `wanted` is among the next few words.
fn has_word(text: &str, wanted: &str) -> bool {
    const FEW: usize = 6;
    text.split(|c: char| c.is_whitespace() || c == ',' || c == '.')
        .filter(|word| !word.is_empty())
        .take(FEW)
        .any(|word| word.eq_ignore_ascii_case(wanted))
}

/// The end of the sum that starts with the value before `end`, as in `5 ft 6 in`. `None` if the
/// value does not start a sum.
fn sum_end(text: &str, end: usize, first: &Limits) -> Option<usize> {
    let rest = &text[end..];
    let next = rest.trim_start();
    if next.len() == rest.len() || !next.starts_with(is_number_start) {
        return None;
    }
    let (second, end) = prose::in_prose(text, text.len() - next.len(), Gallons::Unstated).ok()?;
    (second.kind() == first.kind() && second.unit() != first.unit()).then_some(end)
}
