//! How much of a supply an action uses.

use crate::quantity::{Kind, Quantity, Rational};

/// An amount of a supply: a quantity, or a number of pieces.
///
/// Invariant: above zero. It is written in an address, which has no spaces: `5-mL`, and `2` for two pieces.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum SupplyAmount {
    Pieces(u32),
    /// Of a kind in [`SupplyAmount::KINDS`].
    Quantity(Quantity),
}

/// The most pieces.
const MOST_PIECES: u32 = 1_000;

impl SupplyAmount {
    /// The kinds of quantity that supplies are used in.
    const KINDS: [Kind; 3] = [Kind::Volume, Kind::Mass, Kind::Length];

    /// `None` if the text is no such amount.
    pub(crate) fn parse(text: &str) -> Option<SupplyAmount> {
        let Some((number, unit)) = text.split_once('-') else {
            let is_number = text.bytes().all(|byte| byte.is_ascii_digit());
            let pieces = text.parse().ok().filter(|_| is_number)?;
            return (1..=MOST_PIECES)
                .contains(&pieces)
                .then_some(SupplyAmount::Pieces(pieces));
        };
        if number.is_empty() {
            return None;
        }
        let unit = unit.replace('-', " ");
        let quantity = Quantity::parse(&format!("{number} {unit}")).ok()?;
        let is_above_zero = *quantity.value() > Rational::from_integer(0.into());
        let is_used = SupplyAmount::KINDS.contains(&quantity.unit().kind());
        (is_above_zero && is_used).then_some(SupplyAmount::Quantity(quantity))
    }

    /// Whether it can be compared with an amount that has a price: a quantity of the same kind. Pieces have a price of
    /// their own.
    #[must_use]
    pub(crate) fn fits(&self, each: Option<&Quantity>) -> bool {
        match (self, each) {
            (SupplyAmount::Quantity(amount), Some(each)) => amount.in_unit(each.unit()).is_some(),
            (SupplyAmount::Pieces(_), Some(_)) => false,
            (_, None) => true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_amount_is_a_quantity_or_a_number_of_pieces() {
        for (text, printed) in [
            ("5-mL", "5\u{a0}mL"),
            ("0.5-L", "0.5\u{a0}L"),
            ("20-g", "20\u{a0}g"),
            ("30-cm", "30\u{a0}cm"),
            ("1-US-fl-oz", "1\u{a0}US\u{a0}fl\u{a0}oz"),
        ] {
            let Some(SupplyAmount::Quantity(amount)) = SupplyAmount::parse(text) else {
                panic!("{text}");
            };
            assert_eq!(amount.text(), printed, "{text}");
        }
        assert_eq!(SupplyAmount::parse("2"), Some(SupplyAmount::Pieces(2)));
        for text in [
            "", "0", "0-mL", "-5-mL", "mL", "5-mm²", "5-N·m", "5-min", "1,500-mL", "1001", "+2",
            "2.5", "1-qt",
        ] {
            assert_eq!(SupplyAmount::parse(text), None, "{text}");
        }
    }

    #[test]
    fn an_amount_fits_a_price_for_a_quantity_of_its_kind() {
        let each = Quantity::parse("1 L").unwrap();
        let fits =
            |text: &str, each: Option<&Quantity>| SupplyAmount::parse(text).unwrap().fits(each);
        assert!(fits("5-mL", Some(&each)));
        assert!(!fits("5-g", Some(&each)));
        assert!(!fits("2", Some(&each)));
        assert!(fits("2", None) && fits("5-g", None));
    }
}
