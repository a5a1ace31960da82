//! Colours, and the contrast between them.

use std::fmt;

/// An opaque sRGB colour.
///
/// It is read as `#rrggbb` or `#rgb`, as in CSS, and printed as `#rrggbb`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Colour {
    pub(crate) red: u8,
    pub(crate) green: u8,
    pub(crate) blue: u8,
}

impl Colour {
    pub(crate) const BLACK: Colour = Colour::new(0, 0, 0);
    pub(crate) const WHITE: Colour = Colour::new(255, 255, 255);

    pub(crate) const fn new(red: u8, green: u8, blue: u8) -> Colour {
        Colour { red, green, blue }
    }

    /// Reads `#rrggbb` or `#rgb`.
    #[must_use]
    pub(crate) fn parse(text: &str) -> Option<Colour> {
        let digits = text.strip_prefix('#')?;
        let digits = digits.chars().map(|digit| digit.to_digit(16));
        let digits: Vec<u32> = digits.collect::<Option<_>>()?;
        let channels = match digits.as_slice() {
            [red, green, blue] => [red * 17, green * 17, blue * 17],
            [r1, r2, g1, g2, b1, b2] => [r1 * 16 + r2, g1 * 16 + g2, b1 * 16 + b2],
            _ => return None,
        };
        let [red, green, blue] = channels.map(|channel| u8::try_from(channel).unwrap_or(u8::MAX));
        Some(Colour { red, green, blue })
    }

    /// The relative luminance of WCAG 2.2, from 0 for black to 1 for white.
    #[must_use]
    pub(crate) fn luminance(self) -> f64 {
        let linear = |channel: u8| {
            let value = f64::from(channel) / 255.0;
            if value <= 0.04045 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(self.red) + 0.7152 * linear(self.green) + 0.0722 * linear(self.blue)
    }

    /// The contrast ratio of WCAG 2.2, from 1 to 21.
    #[must_use]
    pub(crate) fn contrast(self, other: Colour) -> f64 {
        let (one, two) = (self.luminance(), other.luminance());
        (one.max(two) + 0.05) / (one.min(two) + 0.05)
    }

    /// A mixture of two colours: `percent` of `other`, and this colour for the rest.
    #[must_use]
    pub(crate) fn mixed(self, other: Colour, percent: u8) -> Colour {
        let percent = u32::from(percent.min(100));
        let channel = |one: u8, two: u8| {
            let sum = u32::from(one) * (100 - percent) + u32::from(two) * percent;
            u8::try_from((sum + 50) / 100).unwrap_or(u8::MAX)
        };
        Colour {
            red: channel(self.red, other.red),
            green: channel(self.green, other.green),
            blue: channel(self.blue, other.blue),
        }
    }
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.red, self.green, self.blue)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_read_and_printed_as_in_css() {
        for (text, printed) in [
            ("#14505c", "#14505c"),
            ("#ABC", "#aabbcc"),
            ("#ffffff", "#ffffff"),
        ] {
            assert_eq!(Colour::parse(text).unwrap().to_string(), printed);
        }
        for text in [
            "",
            "#",
            "14505c",
            "#14505",
            "#14505cf0",
            "#xyzxyz",
            "teal",
            "#１２３",
        ] {
            assert_eq!(Colour::parse(text), None, "{text}");
        }
    }

    /// The ratios that the WCAG's own techniques and understanding documents name: black on white is 21:1
    /// ("Understanding SC 1.4.3", W3C), and #767676 is the lightest grey with 4.5:1 on white (the same page
    /// gives #767676 as the limit; #777777 has 4.48:1).
    #[test]
    fn contrast_agrees_with_the_published_ratios() {
        let grey = |level| Colour::new(level, level, level);
        let ratio = |one: Colour, two: Colour| (one.contrast(two) * 100.0).round() / 100.0;
        assert!((ratio(Colour::BLACK, Colour::WHITE) - 21.0).abs() < f64::EPSILON);
        assert!(ratio(grey(0x76), Colour::WHITE) >= 4.5);
        assert!((ratio(grey(0x77), Colour::WHITE) - 4.48).abs() < f64::EPSILON);
    }
}
