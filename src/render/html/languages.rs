//! The languages of the words on a page.
//!
//! A page in another language than the shop's own text has both. Its own texts are marked (see
//! `src/words/marks.rs`); here the marks go, and what is written between them becomes `lang` on
//! elements around the shop's text. This is done on the finished page, because templates put texts
//! together, too.

use crate::words::marks::{pieces, plain};
use std::fmt::Write as _;

/// A page without marks, in which the text of a shop that writes in `author` is marked as such.
pub(super) fn with_languages(page: &str, author: &str) -> String {
    let mut made = String::with_capacity(page.len() + page.len() / 4);
    let mut rest = page;
    while let Some((text, after)) = rest.split_once('<') {
        push_text(text, author, &mut made);
        let end = tag_end(after);
        let (tag, after) = after.split_at(end);
        push_tag(tag, author, &mut made);
        rest = after;
        // What is in these is no text of the page's body.
        if let Some(name) = ["script", "style", "title"]
            .into_iter()
            .find(|name| tag.split([' ', '>']).next() == Some(*name))
        {
            let end = rest.find(&format!("</{name}>")).unwrap_or(rest.len());
            let (inside, after) = rest.split_at(end);
            made.push_str(&plain(inside));
            rest = after;
        }
    }
    push_text(rest, author, &mut made);
    made
}

/// The length of a tag after its `<`, with its `>`. Templates quote every attribute, and a `>` in one
/// ends nothing.
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

/// An attribute has no language of its own but its element's. An image has nothing else, so it gets the
/// language of its text.
fn push_tag(tag: &str, author: &str, made: &mut String) {
    made.push('<');
    let alt = tag
        .strip_prefix("img ")
        .and_then(|image| image.split_once(" alt=\""))
        .and_then(|(_, alt)| alt.split_once('"'));
    if let Some((alt, _)) = alt
        && is_words(alt)
        && pieces(alt).all(|(is_own, _)| !is_own)
    {
        let _ = write!(made, "img lang=\"{author}\" ");
        made.push_str(tag.trim_start_matches("img "));
        return;
    }
    made.push_str(&plain(tag));
}

fn push_text(text: &str, author: &str, made: &mut String) {
    for (is_own, piece) in pieces(text) {
        let said = piece.trim();
        if is_own || !is_words(said) {
            made.push_str(piece);
            continue;
        }
        // What joins texts, and the space at their ends, is of no language.
        let is_joint = |letter: char| letter.is_whitespace() || ",;:·()".contains(letter);
        let said = said
            .trim_start_matches(is_joint)
            .trim_end_matches(|letter: char| letter.is_whitespace() || ",·(".contains(letter));
        let (before, after) = piece.split_once(said).unwrap_or((piece, ""));
        made.push_str(before);
        made.push_str("<span lang=\"");
        made.push_str(author);
        made.push_str("\">");
        made.push_str(said);
        made.push_str("</span>");
        made.push_str(after);
    }
}

/// Whether an escaped text has a word: two letters together that are no character's name.
fn is_words(text: &str) -> bool {
    let mut rest = text;
    loop {
        let (said, after) = rest.split_once('&').unwrap_or((rest, ""));
        let mut letters = said.split(|letter: char| !letter.is_alphabetic());
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
    fn the_text_of_the_shop_is_in_its_language_and_the_rest_in_the_pages() {
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
        ] {
            assert_eq!(with_languages(page, "en-GB"), expected);
        }
    }

    #[test]
    fn the_name_of_a_character_is_no_word() {
        assert!(!is_words("1&nbsp;&#39;A"));
        assert!(is_words("&quot;stop&quot;"));
    }
}
