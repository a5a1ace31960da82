//! Finds text that looks like a link or an action but was not parsed as one. It would be printed as typed, and the
//! rehearsal would not know that the step does anything.

use super::unread::{Unread, verb_meant};
use super::{Verb, rules};
use memchr::{memchr, memchr2, memchr3};
use std::ops::Range;

/// Finds unparsed links in a range of `text` that the parser returned as plain text. What follows the range in `text`
/// is looked at, too, because the parser splits text at brackets.
pub(super) fn find(text: &str, range: Range<usize>) -> Vec<Unread> {
    let mut unread: Vec<Unread> = Vec::new();
    let mut from = range.start;
    while let Some(at) = text
        .get(from..range.end)
        .and_then(|rest| memchr3(b':', b']', b')', rest.as_bytes()))
    {
        let mark = from + at;
        let found = match text.as_bytes()[mark] {
            _ if text[..mark].ends_with('\\') => None,
            b']' => broken_link(text, mark).or_else(|| reversed_link(text, mark)),
            b')' => reversed_link(text, mark),
            _ => bare_action(text, &range, mark),
        };
        from = found.as_ref().map_or(mark + 1, |found| {
            // The text of a link is before its address, so the range may end before the mark.
            found.range.end.max(mark + 1)
        });
        unread.extend(found);
    }
    unread.extend(backtick(text, range));
    unread
}

/// A backtick without a second one. It is printed.
fn backtick(text: &str, range: Range<usize>) -> Option<Unread> {
    let at = range.start + memchr(b'`', text.get(range.clone())?.as_bytes())?;
    (!text[..at].ends_with('\\')).then(|| {
        Unread::markdown(
            at..at + 1,
            "a backtick has no second one",
            "remove it, or put a backtick at both ends of text to be printed as typed",
        )
    })
}

/// A link whose text ends at `mark`, with an address that the parser could not read.
fn broken_link(text: &str, mark: usize) -> Option<Unread> {
    let after = &text[mark + 1..];
    let start = link_start(text, mark);
    let label = &text[start..=mark];
    if let Some(inside) = after.strip_prefix('(') {
        let line_end = memchr(b'\n', inside.as_bytes()).unwrap_or(inside.len());
        let inside = &inside[..line_end];
        let address = mark + 2;
        let Some(end) = memchr(b')', inside.as_bytes()) else {
            let word = inside.split_whitespace().next().unwrap_or_default();
            let word = word.trim_end_matches([']', '.', ',', ';']);
            return Some(
                Unread::link(
                    start..address + word.len(),
                    "the address of this link has no closing parenthesis",
                    format!("write `{label}({word})`"),
                )
                .corrected(format!("{label}({word})")),
            );
        };
        let inside = &inside[..end];
        let range = address..address + end;
        if let Some(space) = memchr2(b' ', b'\t', inside.as_bytes()) {
            return Some(space_in_address(inside, space, range));
        }
        return Some(Unread::link(
            start..range.end + 1,
            "this link is not read, because its brackets do not match or its text contains another link",
            format!("write each link separately: `[text]({inside})`"),
        ));
    }
    // Only an address that looks like one, since text in parentheses may follow text in brackets.
    let address = after.trim_start();
    let spaces = &after[..after.len() - address.len()];
    let is_paragraph = spaces.matches('\n').count() < 2;
    let address = address.strip_prefix('(')?;
    let word = word_of(address);
    let (scheme, name) = word.split_once(':')?;
    let is_address = is_letters(scheme)
        && name.starts_with(|letter: char| letter.is_ascii_lowercase() || letter == '/')
        && address[word.len()..].starts_with(')');
    let end = mark + 1 + spaces.len() + 1 + word.len() + 1;
    (!spaces.is_empty() && is_paragraph && is_address).then(|| {
        Unread::link(
            start..end,
            "a space separates the text of this link from its address",
            format!("remove the space: `{label}({word})`"),
        )
        .corrected(format!("{label}({word})"))
    })
}

fn space_in_address(inside: &str, space: usize, range: Range<usize>) -> Unread {
    let (address, after) = (&inside[..space], inside[space + 1..].trim_start());
    let is_action = address.ends_with(':') || !address.contains('/');
    let (help, replacement) = if is_action {
        let address = format!("{address}{after}");
        (format!("remove the space: `({address})`"), address)
    } else {
        let (path, title) = match inside.find(['"', '\'']) {
            Some(at) => inside.split_at(at),
            None => (inside, ""),
        };
        let path = path.trim_end();
        let title = if title.is_empty() {
            String::new()
        } else {
            format!(" {title}")
        };
        let address = format!("<{path}>{title}");
        (
            format!("put it between angle brackets: `({address})`"),
            address,
        )
    };
    Unread {
        rule: &rules::SPACE_IN_ADDRESS,
        range,
        message: format!("the address `{inside}` contains a space, so it is not read as a link"),
        help,
        replacement: Some(replacement),
    }
}

/// `(text)[remove:nut]`, `[text][nut]` or `[[nut]]`, where the second bracket follows or is `mark`.
fn reversed_link(text: &str, mark: usize) -> Option<Unread> {
    let after = &text[mark + 1..];
    let (start, inside, end) = if let Some(inside) = after.strip_prefix('[') {
        let length = memchr2(b']', b'\n', inside.as_bytes())?;
        let end = mark + 2 + length + 1;
        let is_link = text[end.min(text.len())..].starts_with(['(', '[']);
        if is_link || !inside[length..].starts_with(']') {
            return None;
        }
        (mark, &inside[..length], end)
    } else if after.starts_with(']') {
        let start = text[..mark].rfind("[[")?;
        (start, &text[start + 2..mark], mark + 2)
    } else {
        return None;
    };
    // An address between two pairs of brackets is already reported where its colon is.
    let has_scheme = after.starts_with('[')
        && inside
            .split_once(':')
            .is_some_and(|(scheme, _)| verb_meant(scheme).is_some());
    let is_name = inside.len() > 2
        && inside.starts_with(|letter: char| letter.is_ascii_lowercase())
        && inside.bytes().all(is_name_byte);
    (has_scheme || is_name).then(|| {
        let address = match inside.split_once(':') {
            Some((scheme, name)) => {
                let verb = verb_meant(scheme).map_or(scheme, |verb| verb.word());
                format!("{verb}:{}", name.trim_start())
            }
            None => format!("VERB:{inside}"),
        };
        Unread::link(
            start..end,
            format!("`{inside}` in square brackets is not read as the address of a link"),
            format!("write the text in square brackets and the address in parentheses: `[text]({address})`"),
        )
    })
}

/// An address in plain text whose colon is at `mark`: `remove:nut`.
fn bare_action(text: &str, range: &Range<usize>, mark: usize) -> Option<Unread> {
    let before = &text[range.start..mark];
    let word = before
        .rfind(|letter: char| !letter.is_ascii_alphabetic())
        .map_or(before, |at| {
            let length = before[at..].chars().next().map_or(1, char::len_utf8);
            &before[at + length..]
        });
    let start = mark - word.len();
    let bracket = text[..start].chars().next_back();
    if bracket.is_some_and(|letter| letter.is_alphanumeric() || "-/_.".contains(letter)) {
        return None;
    }
    let is_bracketed = bracket.is_some_and(|letter| "([{<".contains(letter));
    let after = &text[mark + 1..];
    // No sentence has these brackets.
    let is_markup = matches!(bracket, Some('{' | '<'));
    let name = word_of(if is_markup { after.trim_start() } else { after });
    let first = name.chars().next()?;
    let verb = match Verb::find(word) {
        Some(verb) if first.is_ascii_lowercase() || is_bracketed => verb,
        None if is_bracketed && first.is_ascii_lowercase() => {
            // Words such as `(closed:open)` are not addresses.
            let is_inflected = ["ed", "ing"].iter().any(|ending| word.ends_with(ending));
            let end = text[mark + 1..].trim_start()[name.len()..].chars().next();
            let is_whole = end.is_none_or(|letter| ")]}>\n".contains(letter));
            verb_meant(word).filter(|_| is_whole && !is_inflected)?
        }
        _ => return None,
    };
    let name = name.trim_end_matches(['.', ',', ';', ':', '!', '?']);
    let end = mark + 1 + (after.len() - after.trim_start().len()) + name.len();
    Some(Unread::link(
        start..end,
        format!("`{word}:{name}` is printed as text, not read as an action"),
        format!(
            "write `[text]({}:{name})`; if it is not an action, put a space after the colon",
            verb.word()
        ),
    ))
}

/// The position of the bracket that opens the text of a link, on the same line; else that of the closing one.
fn link_start(text: &str, close: usize) -> usize {
    let line = text[..close].rfind('\n').map_or(0, |at| at + 1);
    text[line..close].rfind('[').map_or(close, |at| {
        let start = line + at;
        if text[..start].ends_with('!') {
            start - 1
        } else {
            start
        }
    })
}

/// The text up to white space or a closing bracket.
fn word_of(text: &str) -> &str {
    let is_end = |letter: char| letter.is_whitespace() || ")]}>`*\"".contains(letter);
    &text[..text.find(is_end).unwrap_or(text.len())]
}

fn is_letters(word: &str) -> bool {
    !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_alphabetic())
}

fn is_name_byte(byte: u8) -> bool {
    byte.is_ascii_lowercase() || byte.is_ascii_digit() || matches!(byte, b'-' | b'/')
}
