//! Prices.

use crate::quantity::Rational;
use std::fmt;

/// An exact amount of money in the shop's currency.
///
/// It is parsed from a decimal with up to two places and printed with two places; halves are rounded up.
/// A shop has a single currency.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Price(Rational);

impl Price {
    /// A regular expression of the texts that [`Price::parse`] accepts.
    pub(crate) const PATTERN: &str = r"^[0-9]{1,9}(\.[0-9]{1,2})?$";

    #[must_use]
    pub(crate) fn zero() -> Price {
        Price(Rational::from_integer(0.into()))
    }

    /// Parses `4`, `4.5` or `4.50`. `None` for any other form.
    #[must_use]
    pub(crate) fn parse(text: &str) -> Option<Price> {
        let (whole, fraction) = text.split_once('.').unwrap_or((text, "0"));
        let is_number = |digits: &str, max_len: usize| {
            (1..=max_len).contains(&digits.len())
                && digits.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !is_number(whole, 9) || !is_number(fraction, 2) {
            return None;
        }
        let hundredths: i64 = format!("{whole}{fraction:0<2}").parse().ok()?;
        Some(Price(Rational::new(hundredths.into(), 100.into())))
    }

    #[must_use]
    pub(crate) fn times(&self, count: &Rational) -> Price {
        Price(&self.0 * count)
    }

    /// Formats the amount with two places and the given decimal mark.
    #[must_use]
    pub(crate) fn text(&self, decimal_mark: char) -> String {
        let hundred = Rational::from_integer(100.into());
        let digits = (&self.0 * hundred).round().numer().to_string();
        let digits = format!("{digits:0>3}");
        let (whole, fraction) = digits.split_at(digits.len() - 2);
        format!("{whole}{decimal_mark}{fraction}")
    }

    #[must_use]
    pub(crate) fn plus(&self, other: &Price) -> Price {
        Price(&self.0 + &other.0)
    }
}

impl fmt::Display for Price {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text('.'))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prices_parse_and_print_with_two_places() {
        for (text, printed) in [
            ("4", "4.00"),
            ("0.5", "0.50"),
            ("12.05", "12.05"),
            ("0.05", "0.05"),
        ] {
            assert_eq!(
                Price::parse(text).map(|price| price.to_string()).as_deref(),
                Some(printed)
            );
        }
        for text in ["", "4.", ".5", "4.505", "-1", "4,50", "£4", "4 ", "1e3"] {
            assert_eq!(Price::parse(text), None, "{text}");
        }
    }

    #[test]
    fn times_multiplies_exactly() {
        let three = Rational::from_integer(3.into());
        assert_eq!(
            Price::parse("4.5")
                .map(|price| price.times(&three).to_string())
                .as_deref(),
            Some("13.50")
        );
    }

    #[test]
    fn halves_round_up() {
        let half = Rational::new(1.into(), 2.into());
        assert_eq!(
            Price::parse("0.05")
                .map(|price| price.times(&half).to_string())
                .as_deref(),
            Some("0.03")
        );
    }
}
