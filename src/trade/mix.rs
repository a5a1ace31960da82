//! Two-stroke mixtures of petrol and oil by volume.
//!
//! A ratio is petrol to oil, not mixture to oil: 50:1 means 50 parts of petrol and one of oil, 51
//! parts of mixture. Source: common practice; `tests/trade/mix.rs` compares published mix charts.

use super::error::Error;
use super::figures::{ceiling, decimals_for, floor, shown, whole};
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};

/// The ratio of petrol to oil that a text gives: one number above one, to one.
///
/// Limits and ranges are refused, because a can is mixed at one ratio. A ratio of less than one to one
/// is refused too: it is oil to petrol.
///
/// ```
/// use benchleaf::quantity::Limits;
/// use benchleaf::trade::mix_ratio;
///
/// let ratio = |text| mix_ratio(&Limits::parse(text).unwrap());
/// assert_eq!(ratio("50:1").unwrap().text(), "50:1");
/// assert_eq!(
///     ratio("40:1 to 50:1").unwrap_err().to_string(),
///     "expected one ratio of petrol to oil, found `40:1 to 50:1`",
/// );
/// ```
///
/// # Errors
///
/// If `typed` is not a ratio, has limits, or is not above 1:1.
pub fn mix_ratio(typed: &Limits) -> Result<Quantity, Error> {
    let found = || format!("`{typed}`");
    if typed.kind() != Kind::Ratio {
        let expected = "a ratio of petrol to oil such as `50:1`";
        return Err(Error::new(expected, found()));
    }
    let has_limits = typed.lower().is_some() || typed.upper().is_some();
    let Some(ratio) = typed.nominal().filter(|_| !has_limits) else {
        let error = Error::new("one ratio of petrol to oil", found());
        return Err(
            error.with_help("a can is mixed at one ratio: write one number to one, such as `50:1`")
        );
    };
    if *ratio.value() <= whole(1) {
        let error = Error::new("more petrol than oil", found());
        return Err(error.with_help("write the petrol first, such as `50:1`"));
    }
    Ok(ratio)
}

/// A tank or can that is filled to the brim with a mixture.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Fill {
    /// In the unit of the capacity.
    pub petrol: Quantity,
    /// In the unit of the measuring cups used with the petrol's unit, as by [`measured_oil_for`].
    pub oil: Quantity,
}

/// The petrol and the oil that fill a capacity at a ratio of petrol to oil: capacity × r / (r + 1)
/// and capacity / (r + 1).
///
/// The oil is rounded up and the petrol, as what is left of the capacity, is rounded down. So the
/// two never exceed the capacity, and the mixture is never leaner in oil than the ratio: a little
/// more oil smokes, too little seizes the engine (common practice, no source). Oil is rounded to a
/// whole millilitre from 100 mL, to a tenth below; to a tenth of a fluid ounce from one fluid ounce, to
/// a hundredth below. Petrol has three significant figures.
///
/// `None` if `capacity` is not a volume above zero, or `ratio` is not a ratio above zero.
///
/// ```
/// use benchleaf::quantity::Quantity;
/// use benchleaf::trade::fill_for;
///
/// let (capacity, ratio) = (Quantity::parse("0.62 L")?, Quantity::parse("50:1")?);
/// let fill = fill_for(&capacity, &ratio).unwrap();
/// assert_eq!(fill.petrol.text(), "0.607\u{a0}L");
/// assert_eq!(fill.oil.text(), "12.2\u{a0}mL");
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[must_use]
pub fn fill_for(capacity: &Quantity, ratio: &Quantity) -> Option<Fill> {
    let millilitres = millilitres(capacity)?;
    if millilitres <= whole(0) {
        return None;
    }
    let cup = measuring_cup(capacity.unit());
    let exact = Quantity::new(
        millilitres / (parts(ratio)? + whole(1)),
        Unit::MILLILITRE,
        0,
    );
    let oil = exact.in_unit(cup)?;
    let (coarse_from, decimals) = if cup == Unit::MILLILITRE {
        (whole(100), 0)
    } else {
        (whole(1), 1)
    };
    let decimals = decimals + u8::from(*oil.value() < coarse_from);
    let oil = Quantity::new(ceiling(oil.value(), decimals), cup, decimals);
    let petrol = capacity.value() - oil.in_unit(capacity.unit())?.value();
    let decimals = decimals_for(&petrol, 3);
    let petrol = floor(&petrol, decimals);
    // A thimble: the step of the measuring cup is larger than it.
    (petrol > whole(0)).then(|| Fill {
        petrol: Quantity::new(petrol, capacity.unit(), decimals),
        oil,
    })
}

/// The unit of the measuring cups used with a unit of petrol.
fn measuring_cup(petrol: Unit) -> Unit {
    // By the symbol's first word, so that a unit that is added has its cup.
    match petrol.symbol().split_whitespace().next() {
        Some("US") => Unit::US_FLUID_OUNCE,
        Some("imp") => Unit::IMPERIAL_FLUID_OUNCE,
        _ => Unit::MILLILITRE,
    }
}

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
    let cup = measuring_cup(petrol.unit());
    if cup == Unit::MILLILITRE {
        return oil_for(petrol, ratio);
    }
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

/// The petrol for a volume of mixture, in its unit: mixture × ratio / (ratio + 1). The value is exact;
/// for amounts to measure, which are rounded so that they fit into the tank, see [`fill_for`].
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
