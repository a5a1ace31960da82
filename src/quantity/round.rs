//! Rounding, with its direction always stated, and limits carried into another unit.
//!
//! The one place where a value may change. [`Limits::rounded_in`] is the law behind every
//! second unit on a page: what is printed never allows what the exact limits forbid, and never
//! gives away more than one step of its last digit.

use num_bigint::BigInt;
use num_traits::{One, Zero};

use super::limits::{Form, Limits};
use super::number::Number;
use super::rational::{Rational, div_rem, power_of_ten, small_power_of_ten};
use super::unit::{Conversion, Unit};
use super::value::Quantity;

/// Which of the two neighbouring steps a value goes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Toward {
    /// The nearer; of two equally near ones the even one (ISO 80000-1, annex B, rule A).
    Nearest,
    /// The one not above: for an upper bound.
    Lower,
    /// The one not below: for a lower bound.
    Upper,
}

/// `value` on a multiple of ten to the power of `exponent`.
pub(super) fn round(value: &Rational, exponent: i32, toward: Toward) -> Rational {
    steps(value, exponent, toward) * power_of_ten(exponent)
}

/// How many times ten to the power of `exponent` goes into `value`, rounded to a whole number.
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

/// As [`steps`], with one division; `None` where the numbers are too long for it.
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
        // In lowest terms, the denominator has to vanish by itself.
        Some(if exponent < 0 {
            denominator == 1 || div_rem(power, denominator).1 == 0
        } else {
            denominator == 1 && div_rem(numerator, power).1 == 0
        })
    };
    small().unwrap_or_else(|| (value / power_of_ten(exponent)).is_integer())
}

/// The exponent of the largest power of ten that isn't above `value`, which is above zero.
pub(super) fn exponent_within(value: &Rational) -> i32 {
    if !value.is_positive() {
        // No caller has one; but the search below would never end.
        return 0;
    }
    if let Some((numerator, denominator)) = value.as_small() {
        // Powers of ten are whole, or one over whole: what a division leaves doesn't count.
        let (whole, past) = div_rem(numerator, denominator);
        if whole > 0 {
            return whole.ilog10().cast_signed();
        }
        let (times, left) = div_rem(denominator, past);
        let times = times + i128::from(left > 0);
        let digits = (times - 1).checked_ilog10().map_or(0, |log| log + 1);
        return -digits.cast_signed();
    }
    // From the lengths in bits, times log10(2) as a fraction; at most one off either way.
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

/// Digits after the point that give `value` exactly; none where they never end.
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

impl Limits {
    /// These limits in another unit of the same kind, as they may be printed.
    ///
    /// Each bound of the result lies within the exact one and less than one step of its last
    /// digit from it; a nominal is the nearest step, kept within the bounds. A lower bound is
    /// never above an upper one. `None` where `unit` is of another kind.
    ///
    /// The step is a power of ten:
    ///
    /// - with two bounds, the largest that goes ten times into the range: more digits than that
    ///   the tolerance doesn't carry;
    /// - otherwise, the largest that isn't above one unit of the last typed digit (of a
    ///   fraction: of a 64th, or finer if it was), and that leaves two figures.
    ///
    /// Where nothing is lost (the decimal point moves, or all values fall on steps) the written
    /// form is kept: `9 N·m ± 1 N·m` is `900 cN·m ± 100 cN·m`.
    ///
    /// ```
    /// use benchleaf::quantity::{Limits, Unit};
    ///
    /// let limits = Limits::parse("9 N·m ± 1 N·m")?;   // exactly 70.8 to 88.5 in·lbf
    /// let rounded = limits.rounded_in(Unit::INCH_POUND).expect("a torque");
    /// assert_eq!(rounded, Limits::parse("80 in·lbf (71 to 88)")?);
    /// assert!(rounded.is_inside(&limits));
    /// # Ok::<(), benchleaf::quantity::Error>(())
    /// ```
    #[must_use]
    pub fn rounded_in(&self, unit: Unit) -> Option<Limits> {
        if unit.kind() != self.unit().kind() {
            return None;
        }
        if unit == self.unit() {
            return Some(self.clone());
        }
        let conversion = self.unit().conversion(unit);
        Some(self.shifted(&conversion).unwrap_or_else(|| {
            let exact = Exact {
                nominal: self.nominal_value().map(|value| conversion.point(value)),
                lower: self.lower_value().map(|value| conversion.point(value)),
                upper: self.upper_value().map(|value| conversion.point(value)),
            };
            let [coarse, fine] = self.steps(&conversion, &exact);
            self.on_steps(&exact, unit, coarse)
                .or_else(|| self.on_steps(&exact, unit, fine))
                .unwrap_or_else(|| self.inward(&exact, unit, fine))
        }))
    }

    /// The limits in a unit that differs by a power of ten: only the decimal points move.
    fn shifted(&self, conversion: &Conversion) -> Option<Limits> {
        let places = conversion.decimal_shift()?;
        let shift = |part: &Quantity| {
            if part.unit() != self.unit() {
                // Per cent stay what they are; a third unit needs more than a moved point.
                return (part.kind() != self.kind()).then(|| part.clone());
            }
            let decimals = part.number().exact_decimals()? - places;
            let value = part.value() * power_of_ten(places);
            Some(on_step(value, -decimals, conversion.to()))
        };
        let form = self.form().try_map(shift, shift)?;
        Some(Limits::from_form(form))
    }

    /// The exponents of the step the typed tolerance (or, without one, value) carries, and of
    /// the step that ten of fit into the range.
    fn steps(&self, conversion: &Conversion, exact: &Exact) -> [i32; 2] {
        let typed = exponent_within(&conversion.difference(&self.form().resolution()));
        let (Some(lower), Some(upper)) = (&exact.lower, &exact.upper) else {
            // Two figures at least: a litre is 34 fl oz, and 30 would be a tenth short.
            let sizes = [&exact.nominal, &exact.lower, &exact.upper]
                .into_iter()
                .flatten();
            let sizes = sizes.map(Rational::abs).filter(Rational::is_positive);
            let two_figures = sizes.map(|size| exponent_within(&size) - 1).min();
            let step = two_figures.map_or(typed, |most| typed.min(most));
            return [step, step];
        };
        let tenth = exponent_within(&(upper - lower)) - 1;
        [typed.max(tenth), tenth]
    }

    /// The limits in their written form, if every value falls on a step.
    fn on_steps(&self, exact: &Exact, unit: Unit, step: i32) -> Option<Limits> {
        let mut values = [&exact.lower, &exact.upper, &exact.nominal].into_iter();
        if !values.all(|value| value.as_ref().is_none_or(|value| is_on_step(value, step))) {
            return None;
        }
        let form = self.form().try_map(
            |point| {
                Some(on_step(
                    point.unit().value_to(unit, point.value()),
                    step,
                    unit,
                ))
            },
            |difference| {
                if difference.kind() != self.kind() {
                    return Some(difference.clone());
                }
                let value = difference.unit().difference_to(unit, difference.value());
                Some(on_step(value, step, unit))
            },
        )?;
        Some(Limits::from_form(form))
    }

    /// The limits with each bound on the next step inside.
    fn inward(&self, exact: &Exact, unit: Unit, step: i32) -> Limits {
        let rounded = |value: &Option<Rational>, toward| {
            value.as_ref().map(|value| round(value, step, toward))
        };
        let at = |value: Rational| on_step(value, step, unit);
        let nominal = rounded(&exact.nominal, Toward::Nearest);
        let lower = rounded(&exact.lower, Toward::Upper);
        let upper = rounded(&exact.upper, Toward::Lower);
        Limits::from_form(match (nominal, lower, upper) {
            (Some(nominal), Some(lower), Some(upper)) => around(nominal, lower, upper, at),
            (None, Some(lower), Some(upper)) => Form::Range {
                lower: at(lower),
                upper: at(upper),
            },
            (_, Some(lower), None) => Form::AtLeast(at(lower)),
            (_, None, Some(upper)) => Form::AtMost(at(upper)),
            (Some(nominal), None, None) => Form::Nominal(at(nominal)),
            // Of the three, every form has one.
            (None, None, None) => self.form().clone(),
        })
    }
}

/// What limits hold, in another unit and not rounded yet.
struct Exact {
    nominal: Option<Rational>,
    lower: Option<Rational>,
    upper: Option<Rational>,
}

/// The form of a rounded nominal between rounded bounds.
fn around(
    nominal: Rational,
    lower: Rational,
    upper: Rational,
    at: impl Fn(Rational) -> Quantity,
) -> Form {
    // A nominal on the edge of its range (+1/-0) may have been rounded past the bound.
    let nominal = nominal.max(lower.clone()).min(upper.clone());
    let (above, below) = (&upper - &nominal, &nominal - &lower);
    // Bounds that lie evenly read better as a tolerance.
    if above == below && above.is_positive() {
        Form::PlusMinus {
            nominal: at(nominal),
            tolerance: at(above),
        }
    } else {
        Form::Between {
            nominal: at(nominal),
            lower: at(lower),
            upper: at(upper),
        }
    }
}

fn on_step(value: Rational, step: i32, unit: Unit) -> Quantity {
    Quantity::from_number(Number::decimal(value, -step), unit)
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
