//! The units in which values are read to thousandths. In the others, three digits after a point are more
//! likely digits before it.

use super::rational::Rational;
use super::unit::Unit;

/// The units in which instruments of the trade show thousandths and in which values are typed with
/// three decimals: `0.500 in`, `1.250 kg`, `12.600 V`. Common practice, no source.
const READ_TO_THOUSANDTHS: &[Unit] = &[
    Unit::NEWTON_METRE,
    Unit::KILONEWTON_METRE,
    Unit::DECANEWTON_METRE,
    Unit::KILOGRAM_FORCE_METRE,
    Unit::MILLIMETRE,
    Unit::CENTIMETRE,
    Unit::METRE,
    Unit::INCH,
    Unit::FOOT,
    Unit::SQUARE_CENTIMETRE,
    Unit::SQUARE_INCH,
    Unit::SQUARE_FOOT,
    Unit::BAR,
    Unit::BAR_GAUGE,
    Unit::BAR_ABSOLUTE,
    Unit::KILOPASCAL,
    Unit::KILOPASCAL_GAUGE,
    Unit::KILOPASCAL_ABSOLUTE,
    Unit::MEGAPASCAL,
    Unit::KILOGRAM_FORCE_PER_SQUARE_CENTIMETRE,
    Unit::KILOGRAM_FORCE_PER_SQUARE_CENTIMETRE_GAUGE,
    Unit::KILOGRAM_FORCE_PER_SQUARE_CENTIMETRE_ABSOLUTE,
    Unit::INCH_OF_MERCURY,
    Unit::LITRE,
    Unit::CUBIC_INCH,
    Unit::US_GALLON,
    Unit::IMPERIAL_GALLON,
    Unit::KILOGRAM,
    Unit::GRAM,
    Unit::POUND,
    Unit::OUNCE,
    Unit::KILONEWTON,
    Unit::KILOGRAM_FORCE,
    Unit::METRE_PER_SECOND,
    Unit::HERTZ,
    Unit::KILOHERTZ,
    Unit::SECOND,
    Unit::VOLT,
    Unit::KILOVOLT,
    Unit::AMPERE,
    Unit::MILLIAMPERE,
    Unit::KILOAMPERE,
    Unit::KILOHM,
    Unit::MEGOHM,
    Unit::KILOWATT,
    Unit::HORSEPOWER,
    Unit::METRIC_HORSEPOWER,
    Unit::KILOVOLT_AMPERE,
    Unit::MICROFARAD,
    Unit::NEWTON_PER_MILLIMETRE,
    Unit::RELATIVE_DENSITY,
    Unit::PERCENT,
];

impl Unit {
    /// Whether values in the unit are read and typed to thousandths.
    ///
    /// Where they are not, three digits after a point are more likely three digits before it:
    /// `3.600 rpm` is refused, and a checklist asks what a reading of 3.600 rpm means.
    #[must_use]
    pub fn is_read_to_thousandths(self) -> bool {
        READ_TO_THOUSANDTHS.contains(&self)
    }
}

/// The decimals to print a computed value with, so that its point can't be a separator: four instead
/// of three where there is a doubt.
pub(super) fn plain_decimals(value: &Rational, unit: Unit, decimals: i32) -> i32 {
    let size = value.abs();
    let is_doubtful = decimals == 3
        && size >= Rational::small(1, 1)
        && size < Rational::small(1000, 1)
        && !unit.is_read_to_thousandths();
    if is_doubtful { 4 } else { decimals }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_units_are_listed_once() {
        for (index, unit) in READ_TO_THOUSANDTHS.iter().enumerate() {
            assert!(!READ_TO_THOUSANDTHS[..index].contains(unit), "{unit}");
        }
    }
}
