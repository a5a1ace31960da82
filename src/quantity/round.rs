//! Rounding of single values, always in a stated direction.
//!
//! Values change only here. `inward.rs` applies these functions to limits.

use num_bigint::BigInt;
use num_traits::{One, Zero};

use super::rational::{Rational, div_rem, power_of_ten, small_power_of_ten};

/// Which of the two neighbouring steps a value is rounded to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Toward {
    /// The nearer; of two equally near ones, the even one (ISO 80000-1, annex B, rule A).
    Nearest,
    /// The step not above the value: for an upper bound.
    Lower,
    /// The step not below the value: for a lower bound.
    Upper,
}

/// `value` rounded to a multiple of ten to the power of `exponent`.
pub(super) fn round(value: &Rational, exponent: i32, toward: Toward) -> Rational {
    steps(value, exponent, toward) * power_of_ten(exponent)
}

/// `value` divided by ten to the power of `exponent`, rounded to a whole number.
pub(super) fn steps(value: &Rational, exponent: i32, toward: Toward) -> Rational {
    if let Some(steps) = small_steps(value, exponent, toward) {
        return Rational::small(steps, 1);
    }
    let steps = value / power_of_ten(exponent);
    match toward {
        Toward::Lower => steps.floor(),
        Toward::Upper => steps.ceil(),
        Toward::Nearest => nearest_even(&steps),
    }
}

/// As [`steps`], with a single division. `None` if the numbers do not fit into an `i128`.
fn small_steps(value: &Rational, exponent: i32, toward: Toward) -> Option<i128> {
    let (numerator, denominator) = value.as_small()?;
    let power = small_power_of_ten(exponent.unsigned_abs())?;
    let (numerator, denominator) = if exponent < 0 {
        (numerator.checked_mul(power)?, denominator)
    } else {
        (numerator, denominator.checked_mul(power)?)
    };
    let (below, past) = div_rem(numerator, denominator);
    let up = match toward {
        Toward::Lower => false,
        Toward::Upper => past > 0,
        Toward::Nearest => {
            let left = denominator - past;
            past > left || (past == left && below % 2 != 0)
        }
    };
    Some(below + i128::from(up))
}

fn nearest_even(steps: &Rational) -> Rational {
    let below = steps.floor();
    let past = steps - &below;
    let half = Rational::small(1, 2);
    let odd = !(&below * &half).is_integer();
    if past > half || (past == half && odd) {
        below + Rational::small(1, 1)
    } else {
        below
    }
}

/// Whether `value` is a multiple of ten to the power of `exponent`.
pub(super) fn is_on_step(value: &Rational, exponent: i32) -> bool {
    let small = || {
        let (numerator, denominator) = value.as_small()?;
        let power = small_power_of_ten(exponent.unsigned_abs())?;
        // The fraction is in lowest terms, so the power alone must cancel the denominator.
        Some(if exponent < 0 {
            denominator == 1 || div_rem(power, denominator).1 == 0
        } else {
            denominator == 1 && div_rem(numerator, power).1 == 0
        })
    };
    small().unwrap_or_else(|| (value / power_of_ten(exponent)).is_integer())
}

/// The exponent of the greatest power of ten that is not above `value`, which must be above zero.
pub(super) fn exponent_within(value: &Rational) -> i32 {
    if !value.is_positive() {
        // No caller passes such a value, but the search below would not end.
        return 0;
    }
    if let Some((numerator, denominator)) = value.as_small() {
        // A power of ten is a whole number or one divided by one, so remainders are irrelevant.
        let (whole, past) = div_rem(numerator, denominator);
        if whole > 0 {
            return whole.ilog10().cast_signed();
        }
        let (times, left) = div_rem(denominator, past);
        let times = times + i128::from(left > 0);
        let digits = (times - 1).checked_ilog10().map_or(0, |log| log + 1);
        return -digits.cast_signed();
    }
    // Estimated from the lengths in bits and log10(2); at most one too high or too low.
    let length = |number: BigInt| i64::try_from(number.bits()).unwrap_or(i64::MAX);
    let bits = length(value.numer()).saturating_sub(length(value.denom()));
    let mut exponent = i32::try_from(bits.saturating_mul(30_103) / 100_000).unwrap_or(i32::MAX);
    while power_of_ten(exponent) > *value {
        exponent -= 1;
    }
    while power_of_ten(exponent + 1) <= *value {
        exponent += 1;
    }
    exponent
}

/// The number of decimals that give `value` exactly. `None` if its decimals do not end.
pub(super) fn decimal_places(value: &Rational) -> Option<i32> {
    if value.is_integer() {
        return Some(0);
    }
    let mut rest = value.denom();
    let mut count = |prime: u32| {
        let prime = BigInt::from(prime);
        let mut times = 0;
        while (&rest % &prime).is_zero() {
            rest /= &prime;
            times += 1;
        }
        times
    };
    let places = count(2).max(count(5));
    rest.is_one().then_some(places)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ratio(numerator: i64, denominator: i64) -> Rational {
        Rational::new(numerator.into(), denominator.into())
    }

    #[test]
    fn rounding_goes_where_it_is_told() {
        let value = ratio(-705, 100);
        assert_eq!(round(&value, -1, Toward::Lower), ratio(-71, 10));
        assert_eq!(round(&value, -1, Toward::Upper), ratio(-70, 10));
        assert_eq!(round(&value, -1, Toward::Nearest), ratio(-70, 10));
        assert_eq!(
            round(&ratio(-715, 100), -1, Toward::Nearest),
            ratio(-72, 10)
        );
        assert_eq!(round(&ratio(1249, 1), 2, Toward::Upper), ratio(1300, 1));
    }

    #[test]
    fn the_power_of_ten_within_a_value() {
        for exponent in -30..=30 {
            let power = power_of_ten(exponent);
            assert_eq!(exponent_within(&power), exponent);
            assert_eq!(exponent_within(&(&power * ratio(999, 100))), exponent);
            assert_eq!(exponent_within(&(&power * ratio(999, 1000))), exponent - 1);
        }
    }

    #[test]
    fn only_fractions_of_twos_and_fives_end() {
        assert_eq!(decimal_places(&ratio(3, 1)), Some(0));
        assert_eq!(decimal_places(&ratio(3, 64)), Some(6));
        assert_eq!(decimal_places(&ratio(1, 50)), Some(2));
        assert_eq!(decimal_places(&ratio(1, 3)), None);
    }
}
