//! Values with their units in running text.
//!
//! The grammar is the parser's; what is added here is doubt. Most numbers in prose are no values,
//! and many words are units besides: `step 4 in the manual`, `3 at a time`, `1 in 10`. Where a
//! reader would have to think twice, nothing is found: a finding about a value that isn't one
//! costs more trust than a value that is missed.

use std::ops::Range;

use super::limits::Limits;
use super::parse;
use super::scan::{digits_at, is_dash, is_number_start, is_slash, starts_words, word_at};
use super::value::Quantity;

/// A value, with or without limits, in running text.
///
/// See [`find()`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// Its bytes in the text, without those of [`paired`](Self::paired).
    pub range: Range<usize>,
    /// What it says; a bare value is a nominal.
    pub limits: Limits,
    /// The same in another unit, where that was typed beside it.
    pub paired: Option<Paired>,
}

/// What stands beside a value as the same in another unit: `9.8 N·m (7.2 ft·lbf)`.
///
/// See [`find()`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paired {
    /// Its bytes in the text, without the parentheses.
    pub range: Range<usize>,
    /// What it says.
    pub limits: Limits,
    /// Whether the two agree within their own rounding.
    ///
    /// Nominals do if they can be roundings of the same value; bounds also if one can be the
    /// other rounded inwards, which moves it by up to a whole step. What only one of the two has
    /// isn't compared; but a bare value beside one bound is taken for that bound, and one beside
    /// two agrees if they allow it.
    pub agrees: bool,
}

/// The values with a unit in running text, in their order, with what is typed beside them as the
/// same in another unit: in parentheses, or after `/` or `=`.
///
/// Any form of [`Limits::parse`] is found. What isn't a value for certain is left out: a number
/// in words, dates, part numbers or labels; a number whose unit is also a common word, as it
/// stands (`4 in the manual`); a number with a comma; values that are added up (`5 ft 6 in`).
/// Sizes (`10 mm wrench`) and times (`5 min`) are values: what they mean is for the caller to
/// judge.
///
/// ```
/// use benchleaf::quantity::find;
///
/// let text = "With the M6 nuts at 9.8 N·m (7.2 ft·lbf), see step 4 in the manual.";
/// let [torque] = &find(text)[..] else { panic!("one value") };
/// assert_eq!(&text[torque.range.clone()], "9.8 N·m");
/// let paired = torque.paired.as_ref().unwrap();
/// assert_eq!(&text[paired.range.clone()], "7.2 ft·lbf");
/// assert!(paired.agrees);
///
/// // 9 N·m are 80 in·lbf.
/// let text = "Tighten to 9 N·m / 90 in-lb.";
/// assert!(!find(text)[0].paired.as_ref().unwrap().agrees);
/// ```
#[must_use]
pub fn find(text: &str) -> Vec<Found> {
    let mut found = Vec::new();
    let mut at = 0;
    let mut previous = None;
    let mut quotes = 0_usize;
    loop {
        let passed = passed(&text.as_bytes()[at..]);
        if passed > 0 {
            at += passed;
            previous = text[..at].chars().next_back();
        }
        let Some(c) = text[at..].chars().next() else {
            break;
        };
        let end = may_start(text, at, previous)
            .then(|| take(text, at, quotes.is_multiple_of(2), &mut found))
            .flatten();
        if let Some(end) = end {
            previous = text[at..end].chars().next_back();
            at = end;
            continue;
        }
        quotes += usize::from(c == '"');
        previous = Some(c);
        at += c.len_utf8();
    }
    found
}

/// How many bytes are characters that neither begin a value nor tell anything about one to come: most
/// of a text is.
fn passed(text: &[u8]) -> usize {
    let mut at = 0;
    while let Some(next) = text[at..].iter().position(|byte| TELLS[usize::from(*byte)]) {
        at += next;
        let is_passed = match text[at] {
            b'a' | b'A' => !matches!(text.get(at + 1), Some(b't' | b'T')),
            b'.' => !text.get(at + 1).is_some_and(u8::is_ascii_digit),
            _ => false,
        };
        if !is_passed {
            return at;
        }
        at += 1;
    }
    text.len()
}

/// Whether a byte may begin a value or tell something about one to come.
const TELLS: [bool; 256] = {
    let mut tells = [false; 256];
    let mut byte = 0;
    while byte < 256 {
        #[allow(clippy::cast_possible_truncation, reason = "it is less than 256")]
        let is_plain = (byte as u8).is_ascii()
            && !matches!(
                byte as u8,
                b'0'..=b'9' | b'(' | b'a' | b'A' | b'.' | b'-' | b'"'
            );
        tells[byte] = !is_plain;
        byte += 1;
    }
    tells
};

/// Whether a value can begin at `at`, after the character `previous`.
fn may_start(text: &str, at: usize, previous: Option<char>) -> bool {
    let is_parted = match previous {
        None => true,
        // After a colon only in prose, as in `torque:9 N·m`; 10:15 is a time.
        Some(':') => !text[..at - 1].ends_with(|c: char| c.is_ascii_digit()),
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
    // Asked first, so that a long row of digits is gone through once, not once for each of them.
    if !is_parted {
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
        Some('.') => !digits_at(&rest[1..]).is_empty(),
        Some(c) if is_dash(c) => next.next().is_some_and(is_number_start),
        // A number with its full stop, as before a step, has no unit.
        Some('0'..='9') => {
            let after = &rest[digits_at(rest).len()..];
            let stop = after.strip_prefix('.');
            stop.is_none_or(|after| !digits_at(after).is_empty())
        }
        Some(c) => is_number_start(c),
        None => false,
    }
}

/// Adds the value at `at` to `found`, if one is there; where to go on, if it is past `at`.
fn take(text: &str, at: usize, quotes_are_closed: bool, found: &mut Vec<Found>) -> Option<usize> {
    let (limits, end) = parse::in_prose(text, at)?;
    if let Some(end) = sum_end(text, end, &limits) {
        return Some(end);
    }
    let range = at..end;
    let typed = &text[range.clone()];
    // Parentheses around the whole aren't the value's, and what is in them is found by itself.
    let is_wrapped = typed.starts_with('(') && typed.ends_with(')');
    if is_wrapped || !is_certain(text, &range, quotes_are_closed) {
        return None;
    }
    let paired = pair_after(text, end, &limits);
    let end = paired.as_ref().map_or(end, |paired| paired.range.end);
    found.push(Found {
        range,
        limits,
        paired,
    });
    Some(end)
}

/// Words before a number that names something instead of measuring it.
const LABELS: &[&str] = &[
    "appendix", "bay", "bin", "bolt", "bolts", "box", "chapter", "class", "cylinder", "drawer",
    "fig", "figs", "figure", "figures", "grade", "group", "item", "items", "line", "model", "no",
    "nos", "note", "number", "nut", "nuts", "option", "p", "page", "pages", "part", "parts", "pos",
    "position", "pp", "rev", "revision", "row", "screw", "screws", "section", "sections", "sheet",
    "shelf", "stage", "step", "steps", "stud", "studs", "table", "tables", "type", "version",
    "zone",
];

/// Words after `in` that make it the preposition, even after a decimal number.
const AFTER_PREPOSITION: &[&str] = &[
    "a", "all", "an", "any", "both", "case", "each", "either", "every", "front", "it", "its",
    "line", "one", "order", "our", "place", "position", "that", "the", "their", "these", "this",
    "those", "turn", "use", "your",
];

/// Whether what stands at `range` is a value and nothing else, by the words around it.
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
        // One letter names variants as often as it is a unit: figure 3 A.
        _ if unit.chars().count() == 1 => !is_labelled && !number_follows,
        _ => true,
    }
}

/// The word that `text` begins with.
fn word(text: &str) -> &str {
    let end = text
        .find(|c: char| !c.is_alphabetic())
        .unwrap_or(text.len());
    &text[..end]
}

/// The word that `text` ends with, but for spaces and a full stop after it.
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

/// Where the sum ends of which a value up to `end` is the first part, as in `5 ft 6 in`; `None`
/// if it isn't.
fn sum_end(text: &str, end: usize, first: &Limits) -> Option<usize> {
    let rest = &text[end..];
    let next = rest.trim_start();
    if next.len() == rest.len() || !next.starts_with(is_number_start) {
        return None;
    }
    let (second, end) = parse::in_prose(text, text.len() - next.len())?;
    (second.kind() == first.kind() && second.unit() != first.unit()).then_some(end)
}

fn pair_after(text: &str, end: usize, value: &Limits) -> Option<Paired> {
    let rest = text[end..].trim_start();
    let sign = rest.chars().next()?;
    let close = match sign {
        '(' => Some(')'),
        '[' => Some(']'),
        '=' | '≈' => None,
        c if is_slash(c) => None,
        _ => return None,
    };
    let inner = rest[sign.len_utf8()..].trim_start();
    let start = text.len() - inner.len();
    if !inner.starts_with(|c| is_number_start(c) || is_dash(c)) && !word_at(inner, "at") {
        return None;
    }
    let (limits, end) = parse::in_prose(text, start)?;
    let is_closed = close.is_none_or(|close| text[end..].trim_start().starts_with(close));
    let is_same_kind = limits.kind() == value.kind();
    // In the same unit they are alternatives, not one value typed twice.
    if !is_closed || !is_same_kind || limits.unit() == value.unit() {
        return None;
    }
    Some(Paired {
        range: start..end,
        agrees: agree(value, &limits),
        limits,
    })
}

/// See [`Paired::agrees`].
fn agree(one: &Limits, other: &Limits) -> bool {
    let nominals = one.nominal().zip(other.nominal());
    let bounds = [
        one.lower().zip(other.lower()),
        one.upper().zip(other.upper()),
    ];
    if nominals.is_none() && bounds == [None, None] {
        return is_of(one, other) || is_of(other, one);
    }
    nominals.is_none_or(|(one, other)| one.agrees_with(&other))
        && bounds
            .into_iter()
            .flatten()
            .all(|(one, other)| is_rounded(&one, &other))
}

/// Whether one bound can be the other rounded to the nearest or inwards.
fn is_rounded(one: &Quantity, other: &Quantity) -> bool {
    one.agrees_with(other) || one.is_a_step_from(other)
}

/// Whether the nominal of the one, which has no bounds, can be what the other's bounds say.
fn is_of(bare: &Limits, bounded: &Limits) -> bool {
    let Some(value) = bare.nominal() else {
        return false;
    };
    match (bounded.lower(), bounded.upper()) {
        (Some(only), None) | (None, Some(only)) => is_rounded(&value, &only),
        _ => bounded.contains(&value),
    }
}
