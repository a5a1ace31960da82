//! The characters of the fonts that sheets are set in.

use std::sync::LazyLock;
use ttf_parser::Face;
use unicode_normalization::UnicodeNormalization as _;
use unicode_normalization::char::is_combining_mark;

/// Whether the fonts have each character of the first two planes of Unicode, by code point. The fonts are those of the
/// typesetter; text in one of them falls back to the other.
///
/// The characters are those that a font lists. Asking for every code point took a fifth of the time of checking a shop of
/// a thousand procedures.
static COVERED: LazyLock<Vec<bool>> = LazyLock::new(|| {
    let mut covered = vec![false; PLANES];
    for font in [
        ttf_noto_sans::REGULAR,
        dejavu::sans::regular(),
        dejavu::sans_mono::regular(),
    ] {
        cover(font, &mut covered);
    }
    covered
});

/// The first two planes of Unicode.
const PLANES: usize = 0x2_0000;

/// Adds the characters of a font.
fn cover(font: &[u8], covered: &mut [bool]) {
    let Ok(face) = Face::parse(font, 0) else {
        return;
    };
    let tables = face.tables().cmap.into_iter();
    for table in tables.flat_map(|map| map.subtables) {
        if !table.is_unicode() {
            continue;
        }
        table.codepoints(|code| {
            // A font may list a character and have no glyph for it.
            if let Some(covered) = covered.get_mut(code as usize)
                && !*covered
            {
                *covered = table.glyph_index(code).is_some_and(|glyph| glyph.0 != 0);
            }
        });
    }
}

/// Whether all styles of a family have each character, for the two families of running text. A letter with its marks is
/// set in one font, and in the style of the text around it.
static FAMILIES: LazyLock<[Vec<bool>; 2]> = LazyLock::new(|| {
    let of = |styles: &[&[u8]]| {
        let mut all = vec![true; PLANES];
        for style in styles {
            let mut covered = vec![false; PLANES];
            cover(style, &mut covered);
            for (all, covered) in all.iter_mut().zip(covered) {
                *all &= covered;
            }
        }
        all
    };
    let noto: [&[u8]; 4] = [
        ttf_noto_sans::REGULAR,
        ttf_noto_sans::BOLD,
        ttf_noto_sans::ITALIC,
        ttf_noto_sans::BOLD_ITALIC,
    ];
    [
        of(&noto),
        of(&[dejavu::sans::regular(), dejavu::sans::bold()]),
    ]
});

/// The characters of a text that can't be set: those without a glyph, and the marks that no family has together with
/// their letter.
pub(crate) fn without_glyph(text: &str) -> Vec<char> {
    if text.is_ascii() {
        return Vec::new();
    }
    let mut found: Vec<char> = text.chars().filter(|letter| !has_glyph(*letter)).collect();
    let mut cluster = String::new();
    for letter in text.chars() {
        if !is_combining_mark(letter) {
            cluster.clear();
            cluster.push(letter);
            continue;
        }
        cluster.push(letter);
        // A font may have the letter with its mark as one character.
        let composed: Vec<char> = cluster.nfc().collect();
        let is_in = |family: &Vec<bool>| {
            let mut letters = composed.iter();
            letters.all(|letter| {
                is_printless(*letter) || family.get(*letter as usize).is_some_and(|has| *has)
            })
        };
        if has_glyph(letter) && !FAMILIES.iter().any(is_in) {
            found.push(letter);
        }
    }
    found
}

/// Whether a character prints: it has a glyph, or prints nothing.
pub(crate) fn has_glyph(letter: char) -> bool {
    letter.is_ascii()
        || is_printless(letter)
        // It stands for invalid bytes, which are reported.
        || letter == char::REPLACEMENT_CHARACTER
        || letter.is_control()
        || COVERED.get(letter as usize).copied().unwrap_or_default()
}

/// Joiners, direction marks and variation selectors print nothing.
fn is_printless(letter: char) -> bool {
    matches!(letter, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::{FAMILIES, has_glyph, is_combining_mark, without_glyph};

    #[test]
    fn a_letter_and_its_marks_are_in_one_family() {
        for text in [
            "",
            "Öl, O\u{308}l, e\u{301}\u{323}",
            "Ж\u{301} ш",
            "\u{628}\u{651}\u{64b}",
        ] {
            assert_eq!(without_glyph(text), [], "{text}");
        }
        // A letter that only one family has, and a mark that only the other has.
        let has = |family: usize, letter: char| FAMILIES[family][letter as usize];
        let mut letters = ('\u{100}'..'\u{fb00}').filter(|letter| !is_combining_mark(*letter));
        let letter = letters.find(|letter| has(0, *letter) && !has(1, *letter));
        let text = format!("a {}\u{651}", letter.unwrap());
        assert_eq!(without_glyph(&text), ['\u{651}'], "{text}");
        assert_eq!(without_glyph("刷"), ['刷']);
    }

    #[test]
    fn the_signs_of_the_trade_have_glyphs() {
        for letter in
            "äéñøßŁŞ ΩμπΔ Жя ±×÷°µ½¼¾′″≤≥≈→←↑↓⌀∅Ø²³·–—“”„«»…€£✓✗⚠☐№\u{a0}\u{202f}\u{2009}".chars()
        {
            assert!(has_glyph(letter), "{letter}");
        }
        for letter in "刷ガ한\u{1f6e0}\u{10ffff}".chars() {
            assert!(!has_glyph(letter), "{letter}");
        }
    }
}
