//! The colours that are derived from the shop's accent colour.
//!
//! A shop may choose any colour. Text on it is black or white, and links are a darker or lighter shade of it,
//! so that text always has the contrast that WCAG 2.2 requires (1.4.3): 4.5:1.

use crate::shop::Colour;
use std::fmt::Write as _;

/// The accent colour of a shop that chooses none.
const DEFAULT: Colour = Colour::new(0x14, 0x50, 0x5c);

/// The contrast that text needs, with some reserve.
const CONTRAST: f64 = 4.6;

/// The backgrounds of text on light and on dark pages, as in `tokens.css`: the ground, the paper and the tint.
const LIGHT: [Colour; 3] = [
    Colour::new(0xef, 0xf1, 0xf0),
    Colour::WHITE,
    Colour::new(0xf1, 0xf3, 0xf2),
];
const DARK: [Colour; 3] = [
    Colour::new(0x11, 0x14, 0x16),
    Colour::new(0x19, 0x1d, 0x20),
    Colour::new(0x23, 0x28, 0x2c),
];

/// The shades of an accent colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Accent {
    ground: Colour,
    /// Text on it.
    text: Colour,
    light: Shades,
    dark: Shades,
}

/// The shades on light or on dark pages.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Shades {
    /// Links and icons.
    link: Colour,
    /// The background of what is selected.
    wash: Colour,
}

impl Accent {
    fn of(accent: Colour) -> Accent {
        let texts = [Colour::WHITE, Colour::new(0x17, 0x19, 0x1b), Colour::BLACK];
        // One of black and white always has at least 4.58:1.
        let readable = texts
            .into_iter()
            .find(|text| text.contrast(accent) >= CONTRAST);
        Accent {
            ground: accent,
            text: readable.unwrap_or_else(|| {
                if Colour::WHITE.contrast(accent) > Colour::BLACK.contrast(accent) {
                    Colour::WHITE
                } else {
                    Colour::BLACK
                }
            }),
            light: Shades::of(accent, Colour::BLACK, LIGHT, 10),
            dark: Shades::of(accent, Colour::WHITE, DARK, 16),
        }
    }
}

impl Shades {
    /// The shade of the accent that is nearest to it and readable on all backgrounds and on its own wash.
    fn of(accent: Colour, towards: Colour, grounds: [Colour; 3], wash: u8) -> Shades {
        let shades = |percent: u8| {
            let link = accent.mixed(towards, percent);
            let wash = grounds[1].mixed(link, wash);
            Shades { link, wash }
        };
        let is_readable = |shades: &Shades| {
            let mut grounds = grounds.into_iter().chain([shades.wash]);
            grounds.all(|ground| shades.link.contrast(ground) >= CONTRAST)
        };
        let mut steps = (0..=100).step_by(2).map(shades);
        steps.find(is_readable).unwrap_or_else(|| shades(100))
    }
}

/// The declarations of the colours that depend on the accent, for `tokens.css`.
pub(super) fn accent_tokens(accent: Option<Colour>) -> String {
    let Accent {
        ground,
        text,
        light,
        dark,
    } = Accent::of(accent.unwrap_or(DEFAULT));
    let mut css = String::new();
    let _ = writeln!(
        css,
        ":root {{\n  --accent: {ground};\n  --on-accent: {text};\n  --link: light-dark({}, {});\n  --wash: light-dark({}, {});\n}}",
        light.link, dark.link, light.wash, dark.wash
    );
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The backgrounds here must be those of the style sheet.
    #[test]
    fn backgrounds_are_those_of_the_tokens() {
        let css = include_str!("../../../templates/html/tokens.css");
        for (index, name) in ["ground", "paper", "tint"].into_iter().enumerate() {
            let short = |colour: Colour| colour.to_string().replace("#ffffff", "#fff");
            let (light, dark) = (short(LIGHT[index]), short(DARK[index]));
            let token = format!("--{name}: light-dark({light}, {dark});");
            assert!(css.contains(&token), "{token}");
        }
    }

    #[test]
    fn text_has_enough_contrast_with_any_accent() {
        let ink = [Colour::new(0x17, 0x19, 0x1b), Colour::new(0xec, 0xed, 0xea)];
        let muted = [Colour::new(0x51, 0x57, 0x5c), Colour::new(0xb3, 0xb9, 0xbd)];
        for number in 0..4096_u32 {
            let channel =
                |shift: u32| u8::try_from((number >> shift) & 15).unwrap_or_default() * 17;
            let colour = Colour::new(channel(8), channel(4), channel(0));
            let accent = Accent::of(colour);
            let on_accent = accent.text.contrast(colour);
            assert!(on_accent >= 4.5, "{colour}: {on_accent} on the accent");
            let themes = [(accent.light, LIGHT, 0), (accent.dark, DARK, 1)];
            for (shades, grounds, theme) in themes {
                for ground in grounds.into_iter().chain([shades.wash]) {
                    let contrast = shades.link.contrast(ground);
                    assert!(
                        contrast >= 4.5,
                        "{colour}: {contrast} of {shades:?} on {ground}"
                    );
                    for text in [ink[theme], muted[theme]] {
                        let contrast = text.contrast(ground);
                        assert!(contrast >= 4.5, "{colour}: {text} on {ground}: {contrast}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_readable_accent_is_the_colour_of_links() {
        let accent = Accent::of(DEFAULT);
        assert_eq!(accent.light.link, DEFAULT);
        assert_eq!(accent.text, Colour::WHITE);
        assert_ne!(accent.dark.link, DEFAULT);
    }
}
