//! The filters of the templates: tightening orders, sentences, and escapes for CSS and scripts.

use crate::page::is_sentence;
use crate::words::marks::plain;
use std::fmt::Write as _;

/// Draws fasteners, each with its turn in the tightening order, at places in thousandths of the drawing. Without places,
/// they are around a circle, clockwise from the top.
pub(super) fn tightening_order(order: &[u32], places: &[[u16; 2]]) -> String {
    // More fasteners are drawn smaller.
    let (class, radius) = match order.len() {
        0..=8 => ("", 13),
        _ => (" class=\"many\"", 8),
    };
    let mut svg =
        format!("<svg viewBox=\"0 0 100 100\"{class} aria-hidden=\"true\" focusable=\"false\">");
    if places.is_empty() {
        svg.push_str("<circle cx=\"50\" cy=\"50\" r=\"34\" class=\"ring\"/>");
    }
    let count = f64::from(u32::try_from(order.len()).unwrap_or(1).max(1));
    for (index, turn) in (0_u32..).zip(order) {
        let angle = std::f64::consts::TAU * f64::from(index) / count;
        let around = || (50.0 + 34.0 * angle.sin(), 50.0 - 34.0 * angle.cos());
        let place = places.get(index as usize);
        let (x, y) = place.map_or_else(around, |[x, y]| {
            (f64::from(*x) / 10.0, f64::from(*y) / 10.0)
        });
        let _ = write!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius}\"/><text x=\"{x:.1}\" y=\"{:.1}\">{turn}</text>",
            y + f64::from(radius) / 2.2
        );
    }
    svg.push_str("</svg>");
    svg
}

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
