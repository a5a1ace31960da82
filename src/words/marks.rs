//! Marks around a page's own texts, to distinguish them from the shop's text.
//!
//! A shop's text is printed as written, also on pages in other languages. Such a page must name the
//! language of each part (WCAG 2.2, 3.1.2), but when it is rendered, a text such as "posición: hole D" is
//! one string. [`Words::for_author`](super::Words::for_author) therefore marks the texts of such a page at
//! their source; text without marks is the shop's. The renderer converts the marks into the medium's
//! language attribute, or removes them with [`plain`].
//!
//! The marks are in the private use area of Unicode, so they do not occur in meaningful text.

use std::borrow::Cow;

/// Begins a text in the page's language.
pub(crate) const OPEN: char = '\u{e000}';
/// Ends a text in the page's language.
pub(crate) const CLOSE: char = '\u{e001}';

/// Whether a character is a mark, which prints nothing.
pub(crate) fn is_mark(letter: char) -> bool {
    matches!(letter, OPEN | CLOSE)
}

/// A text with marks around everything except its placeholders.
pub(super) fn mark(text: &str) -> String {
    let mut marked = String::with_capacity(text.len() + 8);
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (place, after) = after.split_once('}').unwrap_or((after, ""));
        push(before, &mut marked);
        marked.push('{');
        marked.push_str(place);
        marked.push('}');
        rest = after;
    }
    push(rest, &mut marked);
    marked
}

/// A text with marks around it and none inside.
pub(super) fn whole(text: &str) -> String {
    format!("{OPEN}{}{CLOSE}", plain(text))
}

/// Marks a text, unless it has no letters.
fn push(text: &str, marked: &mut String) {
    if text.chars().any(char::is_alphabetic) {
        marked.push(OPEN);
        marked.push_str(text);
        marked.push(CLOSE);
    } else {
        marked.push_str(text);
    }
}

/// A text without its marks.
pub(crate) fn plain(text: &str) -> Cow<'_, str> {
    if text.contains(is_mark) {
        Cow::Owned(text.replace(is_mark, ""))
    } else {
        Cow::Borrowed(text)
    }
}

/// The pieces of a text between marks, each with whether it is marked.
pub(crate) fn pieces(text: &str) -> impl Iterator<Item = (bool, &str)> {
    let mut is_own = false;
    text.split_inclusive(is_mark).filter_map(move |piece| {
        let is_marked = is_own;
        let text = piece.trim_end_matches(is_mark);
        if let Some(mark) = piece.chars().next_back().filter(|last| is_mark(*last)) {
            is_own = mark == OPEN;
        }
        (!text.is_empty()).then_some((is_marked, text))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_except_placeholders_is_marked() {
        let marked = mark("posición: {position}, {count} de");
        let parts: Vec<_> = pieces(&marked).collect();
        let expected = [
            (true, "posición: "),
            (false, "{position}, {count}"),
            (true, " de"),
        ];
        assert_eq!(parts, expected);
        assert_eq!(plain(&marked), "posición: {position}, {count} de");
        assert_eq!(mark("{lower}–{upper}"), "{lower}–{upper}");
    }

    #[test]
    fn marks_do_not_nest() {
        let inner = mark("al menos {value}").replace("{value}", "15 bar");
        let text = format!("{} hole D", whole(&inner));
        let parts: Vec<_> = pieces(&text).collect();
        assert_eq!(parts, [(true, "al menos 15 bar"), (false, " hole D")]);
    }
}
