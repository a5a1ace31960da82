//! The cross-section of wires of the American wire gauge.

use super::number::Number;
use super::rational::{Rational, power_of_ten};
use super::unit::Unit;
use super::value::Quantity;

/// The thickest gauge, 4/0.
const FIRST: i128 = -3;

/// Areas in mm² to four significant figures, from gauge 4/0 to 40: digits, and how many of them are
/// after the decimal point.
///
/// ASTM B258: gauge 36 has a diameter of 0.005 in, gauge 4/0 one of 0.46 in, and the 38 between them
/// are in a geometric series, so that d = 0.127 mm × 92^((36 − n) / 39). A test computes every row.
const AREAS: &[(i64, i32)] = &[
    (1_072, 1),
    (8_503, 2),
    (6_743, 2),
    (5_348, 2),
    (4_241, 2),
    (3_363, 2),
    (2_667, 2),
    (2_115, 2),
    (1_677, 2),
    (1_330, 2),
    (1_055, 2),
    (8_366, 3),
    (6_634, 3),
    (5_261, 3),
    (4_172, 3),
    (3_309, 3),
    (2_624, 3),
    (2_081, 3),
    (1_650, 3),
    (1_309, 3),
    (1_038, 3),
    (8_230, 4),
    (6_527, 4),
    (5_176, 4),
    (4_105, 4),
    (3_255, 4),
    (2_582, 4),
    (2_047, 4),
    (1_624, 4),
    (1_288, 4),
    (1_021, 4),
    (8_098, 5),
    (6_422, 5),
    (5_093, 5),
    (4_039, 5),
    (3_203, 5),
    (2_540, 5),
    (2_014, 5),
    (1_597, 5),
    (1_267, 5),
    (1_005, 5),
    (7_967, 6),
    (6_318, 6),
    (5_010, 6),
];

impl Quantity {
    /// The area of a solid wire of this gauge, in mm², printed with three significant figures. `None` if the quantity
    /// is not a wire gauge from 4/0 to 40.
    ///
    /// ```
    /// use benchleaf::quantity::Quantity;
    ///
    /// let area = |gauge| Quantity::parse(gauge).unwrap().wire_area().unwrap().text();
    /// assert_eq!(area("14 AWG"), "2.08\u{a0}mm²");
    /// assert_eq!(area("4/0 AWG"), "107\u{a0}mm²");
    /// assert_eq!(Quantity::parse("14 mm²")?.wire_area(), None);
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn wire_area(&self) -> Option<Self> {
        if self.unit() != Unit::WIRE_GAUGE || !self.value().is_integer() {
            return None;
        }
        let (gauge, _) = self.value().as_small()?;
        let row = usize::try_from(gauge - FIRST).ok()?;
        let (digits, places) = AREAS.get(row)?;
        let value = Rational::small((*digits).into(), 1) * power_of_ten(-places);
        Some(Self::from_number(
            Number::decimal(value, (places - 1).max(0)),
            Unit::SQUARE_MILLIMETRE,
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_are_those_of_the_formula() {
        assert_eq!(AREAS.len(), 44);
        for (row, (digits, places)) in (-3..).zip(AREAS) {
            let diameter = 0.127 * 92_f64.powf((36.0 - f64::from(row)) / 39.0);
            let area = std::f64::consts::PI / 4.0 * diameter * diameter;
            #[allow(clippy::cast_precision_loss, reason = "four digits")]
            let listed = *digits as f64 / 10_f64.powi(*places);
            assert!(
                (area / listed - 1.0).abs() < 1e-3,
                "{row}: {area} and {listed}"
            );
            assert!((1_000..10_000).contains(digits), "{row}");
        }
    }
}
