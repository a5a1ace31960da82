//! The characters of the fonts that sheets are set in.

use std::sync::LazyLock;
use ttf_parser::Face;

/// Whether the fonts have each character of the first two planes of Unicode, by code point. The fonts are those of the
/// typesetter; text in one of them falls back to the other.
static COVERED: LazyLock<Vec<bool>> = LazyLock::new(|| {
    let fonts = [
        ttf_noto_sans::REGULAR,
        dejavu::sans::regular(),
        dejavu::sans_mono::regular(),
    ];
    let faces: Vec<Face<'_>> = fonts
        .iter()
        .filter_map(|font| Face::parse(font, 0).ok())
        .collect();
    let has_glyph = |code: u32| {
        let letter = char::from_u32(code);
        letter.is_some_and(|letter| faces.iter().any(|face| face.glyph_index(letter).is_some()))
    };
    (0..0x2_0000).map(has_glyph).collect()
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
