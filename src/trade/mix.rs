//! Two-stroke petrol: oil into petrol by volume.

use crate::quantity::{Quantity, Rational, Unit};

/// The oil that goes into a volume of petrol at a ratio of petrol to oil, in millilitres.
///
/// The ratio is of petrol to oil, not of the whole to oil: `oil = petrol / ratio`.
/// None where `petrol` is not a volume or `ratio` is not above zero.
///
/// Source: common practice; `tests/trade.rs` holds published mix charts against it.
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
/// use benchleaf::trade::oil_for;
///
/// let petrol = Quantity::parse("5 L")?;
/// let ratio = Limits::parse("50:1")?.nominal().unwrap();
/// assert_eq!(oil_for(&petrol, &ratio).unwrap().text(), "100\u{a0}mL");
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[must_use]
pub fn oil_for(petrol: &Quantity, ratio: &Quantity) -> Option<Quantity> {
    let petrol = petrol.in_unit(Unit::MILLILITRE)?;
    let zero = Rational::from_integer(0.into());
    if *ratio.value() <= zero {
        return None;
    }
    let oil = petrol.value() / ratio.value();
    // A measuring cup shows whole millilitres; below ten of them a syringe is used.
    let decimals = u8::from(oil < Rational::from_integer(10.into()));
    Some(Quantity::new(oil, Unit::MILLILITRE, decimals))
}
