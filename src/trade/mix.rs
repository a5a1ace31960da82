//! Two-stroke mixtures of petrol and oil by volume.
//!
//! A ratio is petrol to oil, not mixture to oil: 50:1 means 50 parts of petrol and one of oil, 51
//! parts of mixture. Source: common practice; `tests/trade/mix.rs` compares published mix charts.

use super::figures::{shown, whole};
use crate::quantity::{Kind, Quantity, Rational, Unit};

/// The oil for a volume of petrol at a ratio of petrol to oil, in millilitres: petrol / ratio.
///
/// `None` if `petrol` is not a volume, or `ratio` is not a ratio above zero. For the unit of a
/// measuring cup, see [`measured_oil_for`].
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
    // Measuring cups show whole millilitres. Below ten of them a syringe is used.
    let decimals = u8::from(oil < whole(10));
    Some(Quantity::new(oil, Unit::MILLILITRE, decimals))
}

/// The oil for a volume of petrol, in the unit of the measuring cups used with the petrol's unit:
/// US fl oz for US units, imperial fl oz for imperial units, otherwise mL.
///
/// `None` as for [`oil_for`].
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
    // The finest marks of measuring cups are tenths of a fluid ounce.
    Some(Quantity::new(oil.value().clone(), cup, 1))
}

/// The volume of mixture made from a volume of petrol, in the petrol's unit:
/// petrol × (1 + 1 / ratio).
///
/// `None` as for [`oil_for`].
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::mixture_of;
///
/// let (petrol, ratio) = (Quantity::parse("5 L")?, Quantity::parse("50:1")?);
/// assert_eq!(mixture_of(&petrol, &ratio).unwrap().text(), "5.10\u{a0}L");
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[must_use]
pub fn mixture_of(petrol: &Quantity, ratio: &Quantity) -> Option<Quantity> {
    millilitres(petrol)?;
    let value = petrol.value() * (whole(1) + whole(1) / parts(ratio)?);
    Some(shown(value, petrol.unit()))
}

/// The petrol for a volume of mixture, in its unit: mixture × ratio / (ratio + 1). Use it to fill a
/// can or tank exactly.
///
/// `None` as for [`oil_for`].
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

/// Parts of petrol per part of oil.
fn parts(ratio: &Quantity) -> Option<Rational> {
    let usable = ratio.kind() == Kind::Ratio && *ratio.value() > whole(0);
    usable.then(|| ratio.value().clone())
}
