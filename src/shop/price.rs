//! What things cost.

use crate::quantity::Rational;
use std::fmt;

/// An amount of money, exact, in the shop's one currency.
///
/// It is read from a plain decimal with up to two places and printed with two,
/// a half rounded up. A shop that trades in several currencies needs a ledger
/// and not a kit list.
///
/// ```
/// use benchleaf::quantity::Rational;
/// use benchleaf::shop::Price;
///
/// let price = Price::parse("4.5").unwrap();
/// assert_eq!(price.times(&Rational::from_integer(3.into())).to_string(), "13.50");
/// assert_eq!(Price::parse("4,50"), None);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Price(Rational);

impl Price {
    /// Nothing.
    #[must_use]
    pub(crate) fn zero() -> Price {
        Price(Rational::from_integer(0.into()))
    }

    /// Reads `4`, `4.5` or `4.50`; none for any other text.
    #[must_use]
    pub(crate) fn parse(text: &str) -> Option<Price> {
        let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
        let is_number = |digits: &str, most: usize| {
            (1..=most).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !is_number(whole, 9) || !is_number(part, 2) {
            return None;
        }
        let hundredths: i64 = format!("{whole}{part:0<2}").parse().ok()?;
        Some(Price(Rational::new(hundredths.into(), 100.into())))
    }

    /// So many times the price.
    #[must_use]
    pub(crate) fn times(&self, count: &Rational) -> Price {
        Price(&self.0 * count)
    }

    /// The amount as printed, with this character as the decimal mark.
    #[must_use]
    pub(crate) fn text(&self, decimal_mark: char) -> String {
        let hundred = Rational::from_integer(100.into());
        let digits = (&self.0 * hundred).round().numer().to_string();
        let digits = format!("{digits:0>3}");
        let (whole, part) = digits.split_at(digits.len() - 2);
        format!("{whole}{decimal_mark}{part}")
    }

    /// The sum of two prices.
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
    fn prices_are_read_and_printed_with_two_places() {
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
        for text in ["", "4.", ".5", "4.505", "-1", "£4", "4 ", "1e3"] {
            assert_eq!(Price::parse(text), None, "{text}");
        }
    }

    #[test]
    fn a_half_is_rounded_up() {
        let half = Rational::new(1.into(), 2.into());
        assert_eq!(
            Price::parse("0.05")
                .map(|price| price.times(&half).to_string())
                .as_deref(),
            Some("0.03")
        );
    }
}
