//! What a gallon is where a text does not say.

use super::unit::Unit;

/// Which gallon a volume means that is typed as `gal`, `qt`, `pt`, `fl oz`, `gal/min` or `gal/h`.
///
/// The imperial gallon is a fifth larger than the US gallon, and a fluid ounce a twenty-fifth
/// smaller, so none is assumed. Text with one of these units alone is refused unless the shop says
/// which it means. `US gal` and `imp gal` are always accepted.
///
/// ```
/// use benchleaf::quantity::{Gallons, Quantity};
///
/// assert!(Quantity::parse("1 gal").is_err());
/// let tank = Quantity::parse_with("1 gal", Gallons::Imperial)?;
/// assert_eq!(tank.text().replace('\u{a0}', " "), "1 imp gal");
/// # Ok::<(), benchleaf::quantity::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Gallons {
    /// The text must say it.
    #[default]
    Unstated,
    /// 231 in³; 128 fl oz are a gallon.
    Us,
    /// 4.54609 L; 160 fl oz are a gallon.
    Imperial,
}

/// A unit that two systems have under the same name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct BareUnit {
    pub(super) us: Unit,
    pub(super) imperial: Unit,
}

impl BareUnit {
    /// The unit that is meant. `None` if that is not stated.
    pub(super) fn meant(self, gallons: Gallons) -> Option<Unit> {
        match gallons {
            Gallons::Unstated => None,
            Gallons::Us => Some(self.us),
            Gallons::Imperial => Some(self.imperial),
        }
    }
}

const GALLON: BareUnit = BareUnit {
    us: Unit::US_GALLON,
    imperial: Unit::IMPERIAL_GALLON,
};
const QUART: BareUnit = BareUnit {
    us: Unit::US_QUART,
    imperial: Unit::IMPERIAL_QUART,
};
const PINT: BareUnit = BareUnit {
    us: Unit::US_PINT,
    imperial: Unit::IMPERIAL_PINT,
};
const FLUID_OUNCE: BareUnit = BareUnit {
    us: Unit::US_FLUID_OUNCE,
    imperial: Unit::IMPERIAL_FLUID_OUNCE,
};
const PER_MINUTE: BareUnit = BareUnit {
    us: Unit::US_GALLON_PER_MINUTE,
    imperial: Unit::IMPERIAL_GALLON_PER_MINUTE,
};
const PER_HOUR: BareUnit = BareUnit {
    us: Unit::US_GALLON_PER_HOUR,
    imperial: Unit::IMPERIAL_GALLON_PER_HOUR,
};

/// The spellings without a system, as comparison keys in lower case, sorted.
const BARE: &[(&str, BareUnit)] = &[
    ("floz", FLUID_OUNCE),
    ("fluid·ounce", FLUID_OUNCE),
    ("fluid·ounces", FLUID_OUNCE),
    ("fl·oz", FLUID_OUNCE),
    ("gal", GALLON),
    ("gal/h", PER_HOUR),
    ("gal/hr", PER_HOUR),
    ("gal/min", PER_MINUTE),
    ("gallon", GALLON),
    ("gallons", GALLON),
    ("gals", GALLON),
    ("gph", PER_HOUR),
    ("gpm", PER_MINUTE),
    ("pint", PINT),
    ("pints", PINT),
    ("pt", PINT),
    ("pts", PINT),
    ("qt", QUART),
    ("qts", QUART),
    ("quart", QUART),
    ("quarts", QUART),
];

/// The unit without a system that has this comparison key, in lower case.
pub(super) fn bare(key: &str) -> Option<BareUnit> {
    let at = BARE.binary_search_by_key(&key, |(spelling, _)| spelling);
    at.ok().map(|at| BARE[at].1)
}

/// Every spelling without a system, with its unit.
pub(super) fn bare_spellings() -> impl Iterator<Item = (&'static str, BareUnit)> {
    BARE.iter().copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_spellings_are_sorted_and_of_one_kind() {
        assert!(BARE.is_sorted_by_key(|(spelling, _)| *spelling));
        for (spelling, unit) in BARE {
            assert_eq!(bare(spelling), Some(*unit));
            assert_eq!(unit.us.kind(), unit.imperial.kind(), "{spelling}");
        }
    }
}
