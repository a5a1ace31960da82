//! Characters that can't be seen and change what is read.

use super::rules;
use crate::finding::{Finding, Span};

/// Whether a source may not have a character: a control character other than a tab or the end of a line, a control of
/// the direction of writing (the property `Bidi_Control` of the Unicode Standard, annex 9), a separator of lines, a byte
/// order mark within the text, an annotation or a tag.
///
/// The joiners, the soft hyphen and the spaces without width are part of normal writing, and allowed.
fn is_refused(letter: char) -> bool {
    matches!(
        letter,
        '\0'..='\u{8}'
            | '\u{b}'
            | '\u{c}'
            | '\u{e}'..='\u{1f}'
            | '\u{7f}'..='\u{9f}'
            | '\u{61c}'
            | '\u{200e}'
            | '\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2066}'..='\u{2069}'
            | '\u{feff}'
            | '\u{fff9}'..='\u{fffb}'
            | '\u{e0000}'..='\u{e007f}'
    )
}

/// The first character of a text that a source may not have, and where it is.
pub(crate) fn invisible(text: &str) -> Option<(usize, char)> {
    text.bytes().enumerate().find_map(|(at, byte)| {
        let may_be = match byte {
            b'\t' | b'\n' | b'\r' => false,
            // A control character, or the first byte of one of the others.
            0..0x20 | 0x7f | 0xc2 | 0xd8 | 0xe2 | 0xef | 0xf3 => true,
            _ => false,
        };
        let letter = text.get(at..).filter(|_| may_be)?.chars().next()?;
        is_refused(letter).then_some((at, letter))
    })
}

/// The finding about a character at a place.
pub(crate) fn invisible_character(letter: char, span: Span) -> Finding {
    let code = u32::from(letter);
    let message = format!("the text has an invisible character, U+{code:04X}");
    Finding::new(&rules::INVISIBLE_CHARACTER, message)
        .primary(span, "here")
        .help("delete it; if it can't be seen, put the cursor behind it and press Backspace")
}

/// The finding about a character in the path of a source.
pub(super) fn invisible_in_path(letter: char, path: &str) -> Finding {
    let (code, path) = (u32::from(letter), path.escape_debug());
    let message = format!("the path `{path}` has an invisible character, U+{code:04X}");
    Finding::new(&rules::INVISIBLE_CHARACTER, message)
        .help("give the file or folder a name without it")
}

#[cfg(test)]
mod tests {
    use super::{invisible, is_refused};

    #[test]
    fn every_refused_character_is_found_and_no_other() {
        let letters = (0..=0x10_ffff).filter_map(char::from_u32);
        let mut count = 0;
        for letter in letters {
            let found = invisible(&format!("aé{letter}b"));
            assert_eq!(found.is_some(), is_refused(letter), "{letter:?}");
            count += usize::from(is_refused(letter));
        }
        // 62 controls without the tab and the ends of lines, 12 of direction, 2 separators, 1 mark, 3 annotations, 128 tags.
        assert_eq!(count, 62 + 12 + 2 + 1 + 3 + 128);
    }

    #[test]
    fn the_place_is_that_of_the_first() {
        assert_eq!(invisible("2 \u{202e}×\u{0}"), Some((2, '\u{202e}')));
        assert_eq!(invisible("4 × M6\ta\r\nb\u{ad}\u{200b}\u{200d}é–“"), None);
    }
}
