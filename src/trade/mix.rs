//! Two-stroke petrol: oil into petrol by volume.
//!
//! A ratio is of petrol to oil, not of the whole to oil: 50:1 is 50 parts of petrol and one of
//! oil, 51 parts of mixture. Source: common practice; `tests/trade/mix.rs` holds published mix charts
//! against it.

use super::figures::{shown, whole};
use crate::quantity::{Kind, Quantity, Rational, Unit};

/// The oil that goes into a volume of petrol at a ratio of petrol to oil, in millilitres:
/// petrol / ratio.
///
/// None where `petrol` is not a volume or `ratio` is not above zero. [`measured_oil_for`] gives it in the
/// unit of a measuring cup for the petrol's unit.
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
    let oil = millilitres(petrol)? / parts(ratio)?;
    // A measuring cup shows whole millilitres; below ten of them a syringe is used.
    let decimals = u8::from(oil < whole(10));
    Some(Quantity::new(oil, Unit::MILLILITRE, decimals))
}

/// The oil that goes into a volume of petrol, in the unit of the cup that goes with the petrol's
/// unit: US fl oz with US gallons, quarts and pints, imperial fl oz with imperial gallons,
/// otherwise mL.
///
/// None as for [`oil_for`].
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
/// use benchleaf::trade::measured_oil_for;
///
/// let ratio = Limits::parse("50:1")?.nominal().unwrap();
/// let oil = |petrol| measured_oil_for(&Quantity::parse(petrol).unwrap(), &ratio).unwrap().text();
/// assert_eq!(oil("1 US gal").replace('\u{a0}', " "), "2.6 US fl oz");
/// assert_eq!(oil("5 L"), "100\u{a0}mL");
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[must_use]
pub fn measured_oil_for(petrol: &Quantity, ratio: &Quantity) -> Option<Quantity> {
    let american = [
        Unit::US_GALLON,
        Unit::US_QUART,
        Unit::US_PINT,
        Unit::US_FLUID_OUNCE,
    ];
    let imperial = [Unit::IMPERIAL_GALLON, Unit::IMPERIAL_FLUID_OUNCE];
    let cup = if american.contains(&petrol.unit()) {
        Unit::US_FLUID_OUNCE
    } else if imperial.contains(&petrol.unit()) {
        Unit::IMPERIAL_FLUID_OUNCE
    } else {
        return oil_for(petrol, ratio);
    };
    let oil = oil_for(petrol, ratio)?.in_unit(cup)?;
    // Measures are marked in tenths of a fluid ounce at best.
    Some(Quantity::new(oil.value().clone(), cup, 1))
}

/// The mixture that a volume of petrol makes, in the petrol's unit: petrol × (1 + 1 / ratio).
///
/// None as for [`oil_for`].
#[must_use]
pub fn mixture_of(petrol: &Quantity, ratio: &Quantity) -> Option<Quantity> {
    millilitres(petrol)?;
    let value = petrol.value() * (whole(1) + whole(1) / parts(ratio)?);
    Some(shown(value, petrol.unit()))
}

/// The petrol that makes a mixture of a volume, in its unit: mixture × ratio / (ratio + 1). It is
/// what to start with to fill a can or a tank to the brim and no further.
///
/// None as for [`oil_for`].
///
/// ```
/// use benchleaf::quantity::{Limits, Quantity};
/// use benchleaf::trade::{measured_oil_for, petrol_to_fill};
///
/// let ratio = Limits::parse("50:1")?.nominal().unwrap();
/// let petrol = petrol_to_fill(&Quantity::parse("5.1 L")?, &ratio).unwrap();
/// assert_eq!(petrol.text(), "5.00\u{a0}L");
/// assert_eq!(measured_oil_for(&petrol, &ratio).unwrap().text(), "100\u{a0}mL");
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[must_use]
pub fn petrol_to_fill(mixture: &Quantity, ratio: &Quantity) -> Option<Quantity> {
    millilitres(mixture)?;
    let parts = parts(ratio)?;
    let value = mixture.value() * &parts / (&parts + whole(1));
    Some(shown(value, mixture.unit()))
}

fn millilitres(volume: &Quantity) -> Option<Rational> {
    Some(volume.in_unit(Unit::MILLILITRE)?.value().clone())
}

/// Of petrol to one of oil.
fn parts(ratio: &Quantity) -> Option<Rational> {
    let usable = ratio.kind() == Kind::Ratio && *ratio.value() > whole(0);
    usable.then(|| ratio.value().clone())
}
