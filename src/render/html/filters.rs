//! The filters of the templates: sentences, and escapes for CSS and scripts.

use crate::page::is_sentence;
use crate::words::marks::plain;
use std::fmt::Write as _;

/// Appends a full stop to a text that does not end with punctuation, so that another sentence can
/// follow.
pub(super) fn sentence(text: &str) -> String {
    let stop = if is_sentence(text) { "" } else { "." };
    format!("{text}{stop}")
}

/// Escapes a text for a CSS string. Every character except letters, digits, spaces and some punctuation is
/// escaped by its code point, so that none can end the string, the rule or the style element.
pub(super) fn css(text: &str) -> String {
    let mut css = String::with_capacity(text.len());
    for letter in plain(text).chars() {
        if letter.is_alphanumeric() || " .,:-()".contains(letter) {
            css.push(letter);
        } else {
            let _ = write!(css, "\\{:X} ", u32::from(letter));
        }
    }
    css
}

/// Escapes JSON for a script element or a script file.
///
/// In JSON, `<`, `>` and `&` occur only in strings, where `\u` escapes are allowed. Escaped, they can't
/// end the element or open a comment (WHATWG HTML, "Restrictions for contents of script elements").
/// U+2028 and U+2029 are escaped too: before ECMAScript 2019 a string could not contain them.
pub(crate) fn script_text(json: &str) -> String {
    let mut text = String::with_capacity(json.len());
    for letter in json.chars() {
        if matches!(letter, '<' | '>' | '&' | '\u{2028}' | '\u{2029}') {
            let _ = write!(text, "\\u{:04x}", u32::from(letter));
        } else {
            text.push(letter);
        }
    }
    text
}
