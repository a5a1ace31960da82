//! What templates make of a text: drawings, sentences, the insides of strings.

use crate::render::templates;
use std::fmt::Write as _;

/// A sign's drawing, to stand in a page; nothing where there is none. It is ours, and no shop's
/// text, so that it may stand there as it is. What it stands for is said around it, in the page's
/// language.
pub(super) fn drawing(number: &str) -> String {
    let file = format!("{number}.svg");
    let found = templates::SIGNS.iter().find(|(name, _)| *name == file);
    let text = found.map_or("", |(_, text)| text.trim());
    let Some((before, after)) = text.split_once("<title>") else {
        return text.to_owned();
    };
    let (_, after) = after.split_once("</title>").unwrap_or(("", after));
    format!("{before}{after}").replacen("role=\"img\"", "aria-hidden=\"true\"", 1)
}

/// Fasteners around a circle, each with its turn: the first at the top, then clockwise.
pub(super) fn around(order: &[u32]) -> String {
    let mut svg = String::from(
        "<svg viewBox=\"0 0 100 100\" aria-hidden=\"true\" focusable=\"false\"><circle cx=\"50\" cy=\"50\" r=\"34\" class=\"ring\"/>",
    );
    let count = f64::from(u32::try_from(order.len()).unwrap_or(1).max(1));
    for (at, turn) in (0_u32..).zip(order) {
        let angle = std::f64::consts::TAU * f64::from(at) / count;
        let (x, y) = (50.0 + 34.0 * angle.sin(), 50.0 - 34.0 * angle.cos());
        let _ = write!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"13\"/><text x=\"{x:.1}\" y=\"{:.1}\">{turn}</text>",
            y + 6.0
        );
    }
    svg.push_str("</svg>");
    svg
}

/// A text as a sentence: with a full stop where it has no end of its own, so
/// that another one can follow.
pub(super) fn sentence(text: &str) -> String {
    let stop = if text.ends_with(['.', '!', '?', '…', ':']) {
        ""
    } else {
        "."
    };
    format!("{text}{stop}")
}

/// A text as the inside of a CSS string: every character that is not a letter
/// or digit is escaped by its number, so that none can end the string, the
/// rule or the style element.
pub(super) fn css(text: &str) -> String {
    let mut css = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_alphanumeric() {
            css.push(letter);
        } else {
            let _ = write!(css, "\\{:X} ", u32::from(letter));
        }
    }
    css
}

/// A JSON as the inside of a script element, or of a script. In JSON, `<`, `>` and `&` stand in
/// strings only, where each may be written by its number: so that none ends the element or opens a
/// comment (WHATWG HTML, "Restrictions for contents of script elements"). So are the two separators
/// that ended a string in scripts before ECMAScript 2019.
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
