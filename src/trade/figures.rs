//! Exact numbers, and the digits that results are printed with.

use crate::quantity::{Limits, Quantity, Rational, Unit};

pub(super) fn ratio(numerator: i64, denominator: i64) -> Rational {
    Rational::new(numerator.into(), denominator.into())
}

pub(super) fn whole(number: i64) -> Rational {
    Rational::from_integer(number.into())
}

/// π, as the fraction 355/113.
///
/// It exceeds π by less than 2.7 × 10⁻⁷, one part in ten million: far below the precision of the
/// tables here, and on the safe side where a speed is compared with a maximum.
pub(super) fn pi() -> Rational {
    ratio(355, 113)
}

fn ten_to(power: u8) -> Rational {
    // No caller asks for more than eighteen places.
    whole(10_i64.checked_pow(power.into()).unwrap_or(i64::MAX))
}

/// `value` rounded to `decimals` digits after the decimal point, halves away from zero.
pub(super) fn rounded(value: &Rational, decimals: u8) -> Rational {
    let scale = ten_to(decimals);
    let half = if *value < whole(0) {
        ratio(-1, 2)
    } else {
        ratio(1, 2)
    };
    let steps = value * &scale + half;
    // Integer division truncates towards zero; the added half makes that the nearest.
    Rational::from_integer(steps.numer() / steps.denom()) / scale
}

/// `value` truncated to `decimals` digits after the decimal point.
pub(super) fn cut(value: &Rational, decimals: u8) -> Rational {
    let scale = ten_to(decimals);
    let steps = value * &scale;
    Rational::from_integer(steps.numer() / steps.denom()) / scale
}

/// `value` rounded down to `decimals` digits after the decimal point.
pub(super) fn floor(value: &Rational, decimals: u8) -> Rational {
    let towards_zero = cut(value, decimals);
    if towards_zero > *value {
        towards_zero - whole(1) / ten_to(decimals)
    } else {
        towards_zero
    }
}

/// `value` rounded up to `decimals` digits after the decimal point.
pub(super) fn ceiling(value: &Rational, decimals: u8) -> Rational {
    whole(0) - floor(&(whole(0) - value), decimals)
}

/// The number of decimals that give `value` this many significant figures; zero if the digits
/// before the decimal point are enough, or if the value is zero.
pub(super) fn decimals_for(value: &Rational, figures: u8) -> u8 {
    let size = if *value < whole(0) {
        whole(0) - value
    } else {
        value.clone()
    };
    if size == whole(0) {
        return 0;
    }
    let enough = |decimals: &u8| &size * ten_to(*decimals) >= ten_to(figures.saturating_sub(1));
    let decimals = (0..MOST_DECIMALS).find(enough).unwrap_or(MOST_DECIMALS);
    // 9.996 is 10.0, not 10.00.
    let gains_one = rounded(&size, decimals) * ten_to(decimals) >= ten_to(figures);
    decimals.saturating_sub(u8::from(gains_one))
}

/// No value of the trade needs more decimals than these.
const MOST_DECIMALS: u8 = 12;

/// An exact value that prints with three significant figures, the precision of torque wrenches,
/// rules of thumb and published tables.
pub(super) fn shown(value: Rational, unit: Unit) -> Quantity {
    let decimals = decimals_for(&value, 3);
    Quantity::new(value, unit, decimals)
}

/// A value whose decimals end, printed with the decimals that it needs.
pub(super) fn exact(value: Rational, unit: Unit) -> Quantity {
    let ends = |decimals: &u8| rounded(&value, *decimals) == value;
    let decimals = (0..MOST_DECIMALS)
        .find(ends)
        .unwrap_or_else(|| decimals_for(&value, 3));
    Quantity::new(value, unit, decimals)
}

/// The target value, in the unit of the limits: the nominal, otherwise the middle, otherwise the
/// only bound.
///
/// Never `None`, because limits have at least one of the three.
pub(super) fn aim(limits: &Limits) -> Option<Rational> {
    match limits.nominal() {
        Some(nominal) => Some(nominal.value().clone()),
        None => middle(limits),
    }
}

/// The middle between two bounds, in the unit of the limits; otherwise the only bound, otherwise the
/// nominal.
pub(super) fn middle(limits: &Limits) -> Option<Rational> {
    match (limits.lower(), limits.upper()) {
        (Some(lower), Some(upper)) => Some((lower.value() + upper.value()) / whole(2)),
        (Some(bound), None) | (None, Some(bound)) => Some(bound.value().clone()),
        (None, None) => limits.nominal().map(|nominal| nominal.value().clone()),
    }
}

/// Half the distance between two bounds, in the unit of the limits.
pub(super) fn half_width(limits: &Limits) -> Option<Rational> {
    let (lower, upper) = (limits.lower()?, limits.upper()?);
    Some((upper.value() - lower.value()) / whole(2))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_counted_after_rounding() {
        assert_eq!(decimals_for(&ratio(9994, 1000), 3), 2);
        assert_eq!(decimals_for(&ratio(9996, 1000), 3), 1);
        assert_eq!(decimals_for(&ratio(175, 10_000), 3), 4);
        assert_eq!(decimals_for(&whole(15_921), 3), 0);
        assert_eq!(decimals_for(&whole(0), 3), 0);
    }

    #[test]
    fn rounding_goes_to_the_nearer_and_cutting_towards_zero() {
        assert_eq!(rounded(&ratio(-705, 100), 1), ratio(-71, 10));
        assert_eq!(rounded(&ratio(1154, 1000), 2), ratio(115, 100));
        assert_eq!(cut(&ratio(1159, 1000), 2), ratio(115, 100));
    }

    #[test]
    fn an_ending_value_shows_its_own_digits() {
        assert_eq!(exact(ratio(5, 16), Unit::INCH).text(), "0.3125\u{a0}in");
        assert_eq!(exact(whole(6), Unit::MILLIMETRE).text(), "6\u{a0}mm");
    }
}
