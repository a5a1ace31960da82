//! The characters of the fonts that sheets are set in.

use std::sync::LazyLock;
use ttf_parser::Face;

/// Whether the fonts have each character of the first two planes of Unicode, by code point. The fonts are those of the
/// typesetter; text in one of them falls back to the other.
///
/// The characters are those that a font lists. Asking for every code point took a fifth of the time of checking a shop of
/// a thousand procedures.
static COVERED: LazyLock<Vec<bool>> = LazyLock::new(|| {
    let mut covered = vec![false; 0x2_0000];
    let fonts = [
        ttf_noto_sans::REGULAR,
        dejavu::sans::regular(),
        dejavu::sans_mono::regular(),
    ];
    for face in fonts.iter().filter_map(|font| Face::parse(font, 0).ok()) {
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
    covered
});

/// Whether a character prints: it has a glyph, or prints nothing.
pub(crate) fn has_glyph(letter: char) -> bool {
    letter.is_ascii()
        // Joiners, direction marks and variation selectors print nothing.
        || matches!(letter, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}')
        // It stands for invalid bytes, which are reported.
        || letter == char::REPLACEMENT_CHARACTER
        || letter.is_control()
        || COVERED.get(letter as usize).copied().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::has_glyph;

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
