//! Rounding, with its direction always stated, and limits carried into another unit.
//!
//! The one place where a value may change. [`Limits::rounded_in`] is the law behind every
//! second unit on a page: what is printed never allows what the exact limits forbid, and never
//! gives away more than one step of its last digit.

use num_bigint::BigInt;
use num_traits::{One, Pow, Signed, Zero};

use super::limits::{Form, Limits};
use super::number::{Number, Rational};
use super::unit::Unit;
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
    let step = power_of_ten(exponent);
    let steps = value / &step;
    let steps = match toward {
        Toward::Lower => steps.floor(),
        Toward::Upper => steps.ceil(),
        Toward::Nearest => nearest_even(&steps),
    };
    steps * step
}

fn nearest_even(steps: &Rational) -> Rational {
    let below = steps.floor();
    let half = Rational::new_raw(BigInt::one(), BigInt::from(2));
    let past = steps - &below;
    let odd = (below.to_integer() % BigInt::from(2)) != BigInt::zero();
    if past > half || (past == half && odd) {
        below + BigInt::one()
    } else {
        below
    }
}

pub(super) fn power_of_ten(exponent: i32) -> Rational {
    let power = BigInt::from(10).pow(exponent.unsigned_abs());
    if exponent < 0 {
        Rational::new_raw(BigInt::one(), power)
    } else {
        Rational::from_integer(power)
    }
}

/// The exponent of the largest power of ten that isn't above `value`, which is above zero.
pub(super) fn exponent_within(value: &Rational) -> i32 {
    if !value.is_positive() {
        // No caller has one; but the search below would never end.
        return 0;
    }
    // From the lengths in bits, times log10(2) as a fraction; at most one off either way.
    let length = |number: &BigInt| i64::try_from(number.bits()).unwrap_or(i64::MAX);
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
    let mut rest = value.denom().clone();
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
    ///   fraction: of a 64th, or finer if it was).
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
        Some(self.shifted(unit).unwrap_or_else(|| {
            let [coarse, fine] = self.steps(unit);
            [coarse, fine]
                .into_iter()
                .find_map(|step| self.on_steps(unit, step))
                .unwrap_or_else(|| self.inward(unit, fine))
        }))
    }

    /// The limits in a unit that differs by a power of ten: only the decimal points move.
    fn shifted(&self, unit: Unit) -> Option<Limits> {
        let places = self.unit().decimal_shift(unit)?;
        let shift = |part: &Quantity| {
            if part.unit() != self.unit() {
                // Per cent stay what they are; a third unit needs more than a moved point.
                return (part.kind() != self.kind()).then(|| part.clone());
            }
            let decimals = part.number().exact_decimals()? - places;
            Some(on_step(
                part.value() * power_of_ten(places),
                -decimals,
                unit,
            ))
        };
        let form = self.form().try_map(shift, shift)?;
        Some(Limits::from_form(form))
    }

    /// The exponents of the step the typed tolerance (or, without one, value) carries, and of
    /// the step that ten of fit into the range.
    fn steps(&self, unit: Unit) -> [i32; 2] {
        let typed = self.form().resolution();
        let typed = exponent_within(&self.unit().difference_to(unit, &typed));
        let (Some(lower), Some(upper)) = (self.lower_value(), self.upper_value()) else {
            return [typed, typed];
        };
        let width = self.unit().difference_to(unit, &(upper - lower));
        let tenth = exponent_within(&(width / BigInt::from(10)));
        [typed.max(tenth), tenth]
    }

    /// The limits in their written form, if every value falls on a step.
    fn on_steps(&self, unit: Unit, step: i32) -> Option<Limits> {
        let fits = |value: &Rational| (value / power_of_ten(step)).is_integer();
        let bounds = [self.lower_value(), self.upper_value(), self.nominal_value()];
        let all = bounds
            .into_iter()
            .flatten()
            .all(|value| fits(&self.unit().value_to(unit, value)));
        if !all {
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
    fn inward(&self, unit: Unit, step: i32) -> Limits {
        let rounded = |part: &Quantity, toward| {
            on_step(
                round(&part.unit().value_to(unit, part.value()), step, toward),
                step,
                unit,
            )
        };
        Limits::from_form(match self.form() {
            Form::AtLeast(lower) => Form::AtLeast(rounded(lower, Toward::Upper)),
            Form::AtMost(upper) => Form::AtMost(rounded(upper, Toward::Lower)),
            Form::Range { lower, upper } => Form::Range {
                lower: rounded(lower, Toward::Upper),
                upper: rounded(upper, Toward::Lower),
            },
            Form::Nominal(nominal)
            | Form::PlusMinus { nominal, .. }
            | Form::Deviations { nominal, .. }
            | Form::Between { nominal, .. } => {
                let nominal = rounded(nominal, Toward::Nearest);
                let bound = |value: &Rational, toward| {
                    round(&self.unit().value_to(unit, value), step, toward)
                };
                match (self.lower_value(), self.upper_value()) {
                    (Some(lower), Some(upper)) => around(
                        &nominal,
                        bound(lower, Toward::Upper),
                        bound(upper, Toward::Lower),
                        step,
                    ),
                    _ => Form::Nominal(nominal),
                }
            }
        })
    }
}

/// The form of a rounded nominal between rounded bounds.
fn around(nominal: &Quantity, lower: Rational, upper: Rational, step: i32) -> Form {
    let unit = nominal.unit();
    let at = |value: Rational| on_step(value, step, unit);
    // A nominal on the edge of its range (+1/-0) may have been rounded past the bound.
    let value = nominal
        .value()
        .clone()
        .max(lower.clone())
        .min(upper.clone());
    let (above, below) = (&upper - &value, &value - &lower);
    // Bounds that lie evenly read better as a tolerance.
    if above == below && above.is_positive() {
        Form::PlusMinus {
            nominal: at(value),
            tolerance: at(above),
        }
    } else {
        Form::Between {
            nominal: at(value),
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
