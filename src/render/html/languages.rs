//! Converts language marks into `lang` attributes.
//!
//! A page in another language than the shop's text contains both languages. Its own texts are marked
//! (`src/words/marks.rs`). The marks are converted on the finished page, because templates also combine
//! texts.

use crate::words::marks::{pieces, plain};
use std::fmt::Write as _;

/// Replaces the marks of a page by `lang` attributes on the shop's text, which is in the language `author`.
pub(super) fn with_languages(page: &str, author: &str) -> String {
    let mut output = String::with_capacity(page.len() + page.len() / 4);
    let mut rest = page;
    let mut element = "span";
    while let Some((text, after)) = rest.split_once('<') {
        push_text(text, element, author, &mut output);
        let end = tag_end(after);
        let (tag, after) = after.split_at(end);
        push_tag(tag, author, &mut output);
        // An element of HTML would end a drawing.
        match tag.split([' ', '>']).next() {
            Some("svg") => element = "tspan",
            Some("/svg") => element = "span",
            _ => {}
        }
        rest = after;
        // The content of these elements is not text of the page's body.
        if let Some(name) = ["script", "style", "title"]
            .into_iter()
            .find(|name| tag.split([' ', '>']).next() == Some(*name))
        {
            let end = rest.find(&format!("</{name}>")).unwrap_or(rest.len());
            let (inside, after) = rest.split_at(end);
            output.push_str(&plain(inside));
            rest = after;
        }
    }
    push_text(rest, element, author, &mut output);
    output
}

/// The length of a tag from after its `<` to its `>`, inclusive. A `>` in a quoted attribute does not end the
/// tag, and templates quote every attribute.
fn tag_end(tag: &str) -> usize {
    let mut quote = None;
    for (at, letter) in tag.char_indices() {
        match quote {
            Some(open) if open == letter => quote = None,
            None if matches!(letter, '"' | '\'') => quote = Some(letter),
            None if letter == '>' => return at + 1,
            Some(_) | None => {}
        }
    }
    tag.len()
}

/// An attribute is in the language of its element. An image has no other text, so it gets the language of its
/// `alt` attribute.
fn push_tag(tag: &str, author: &str, output: &mut String) {
    output.push('<');
    let alt = tag
        .strip_prefix("img ")
        .and_then(|image| image.split_once(" alt=\""))
        .and_then(|(_, alt)| alt.split_once('"'));
    if let Some((alt, _)) = alt
        && is_words(alt)
        && pieces(alt).all(|(is_own, _)| !is_own)
    {
        let _ = write!(output, "img lang=\"{author}\" ");
        output.push_str(tag.trim_start_matches("img "));
        return;
    }
    output.push_str(&plain(tag));
}

/// Pushes a text. `element` is what a piece of it in the other language becomes.
fn push_text(text: &str, element: &str, author: &str, output: &mut String) {
    for (is_own, piece) in pieces(text) {
        let text_part = piece.trim();
        if is_own || !is_words(text_part) {
            output.push_str(piece);
            continue;
        }
        // Punctuation between texts and surrounding space belong to no language.
        let is_joint = |letter: char| letter.is_whitespace() || ",;:·()".contains(letter);
        let text_part = text_part
            .trim_start_matches(is_joint)
            .trim_end_matches(|letter: char| letter.is_whitespace() || ",·(".contains(letter));
        let (before, after) = piece.split_once(text_part).unwrap_or((piece, ""));
        output.push_str(before);
        let _ = write!(
            output,
            "<{element} lang=\"{author}\">{text_part}</{element}>"
        );
        output.push_str(after);
    }
}

/// Whether an escaped text has a word: two adjacent letters outside a character reference.
fn is_words(text: &str) -> bool {
    let mut rest = text;
    loop {
        let (text_part, after) = rest.split_once('&').unwrap_or((rest, ""));
        let mut letters = text_part.split(|letter: char| !letter.is_alphabetic());
        if letters.any(|word| word.chars().nth(1).is_some()) {
            return true;
        }
        if after.is_empty() {
            return false;
        }
        rest = after.split_once(';').map_or(after, |(_, after)| after);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shop_text_gets_a_lang_attribute() {
        for (page, expected) in [
            (
                "<p>\u{e000}posición: \u{e001}hole D, M6</p>",
                "<p>posición: <span lang=\"en-GB\">hole D, M6</span></p>",
            ),
            ("<td> 12 &amp; 5 </td>", "<td> 12 &amp; 5 </td>"),
            (
                "<title>\u{e000}Hoja\u{e001} · Pump</title><p title=\"\u{e000}a > b\u{e001}\">x</p>",
                "<title>Hoja · Pump</title><p title=\"a > b\">x</p>",
            ),
            (
                "<img src=\"a.svg\" alt=\"The arm\"><img src=\"b.svg\" alt=\"\u{e000}El brazo\u{e001}\">",
                "<img lang=\"en-GB\" src=\"a.svg\" alt=\"The arm\"><img src=\"b.svg\" alt=\"El brazo\">",
            ),
            (
                "<b>governor rod: \u{e000}posición\u{e001}</b>",
                "<b><span lang=\"en-GB\">governor rod:</span> posición</b>",
            ),
            (
                "<svg><text>arm \u{e000}brazo\u{e001}</text></svg>rod",
                "<svg><text><tspan lang=\"en-GB\">arm</tspan> brazo</text></svg><span lang=\"en-GB\">rod</span>",
            ),
        ] {
            assert_eq!(with_languages(page, "en-GB"), expected);
        }
    }

    #[test]
    fn a_character_reference_is_not_a_word() {
        assert!(!is_words("1&nbsp;&#39;A"));
        assert!(is_words("&quot;stop&quot;"));
    }
}
