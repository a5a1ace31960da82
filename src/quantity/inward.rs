//! Limits in another unit, rounded inwards: a second unit on a page never allows what the first
//! forbids.

use super::limits::{Form, Limits};
use super::number::Number;
use super::rational::{Rational, power_of_ten};
use super::round::{Toward, exponent_within, is_on_step, round};
use super::thousandths::plain_decimals;
use super::unit::{Conversion, Unit};
use super::value::Quantity;

impl Limits {
    /// These limits in another unit, rounded inwards for print. `None` if `unit` is of another kind.
    ///
    /// Each bound of the result lies within the exact one, by less than one step of the last digit.
    /// A nominal is rounded to the nearest step within the bounds. A lower bound is never above an
    /// upper one.
    ///
    /// The step is a power of ten:
    ///
    /// - with two bounds, the greatest at which no more than a twentieth of the range is lost at its
    ///   ends, and which moves a nominal by no more than that;
    /// - otherwise, the greatest that is not above one unit of the last typed digit (for a fraction,
    ///   see [`Quantity::resolution`]) and that leaves three significant figures. A value with four
    ///   significant figures keeps all of them: a US gallon is 128 US fl oz, an inch 25.4 mm.
    ///
    /// If nothing is lost, because only the decimal point moves or all values fall on steps, the
    /// written form is kept: `9 N·m ± 1 N·m` becomes `900 cN·m ± 100 cN·m`.
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
            let steps = self.steps(&conversion, &exact);
            let [coarse, fine] = steps.map(|step| exact.plain_step(step, unit));
            self.on_steps(&exact, unit, coarse)
                .or_else(|| self.on_steps(&exact, unit, fine))
                .unwrap_or_else(|| self.inward(&exact, unit, fine))
        }))
    }

    /// The limits in a unit that differs by a power of ten, with the decimal points moved. `None` if
    /// the units differ otherwise.
    fn shifted(&self, conversion: &Conversion) -> Option<Limits> {
        let places = conversion.decimal_shift()?;
        let shift = |part: &Quantity| {
            if part.unit() != self.unit() {
                // A percentage does not change. A third unit needs a real conversion.
                return (part.kind() != self.kind()).then(|| part.clone());
            }
            let decimals = part.number().exact_decimals()? - places;
            let value = part.value() * power_of_ten(places);
            Some(on_step(value, -decimals, conversion.to()))
        };
        let form = self.form().try_map(shift, shift)?;
        Some(Limits::from_form(form))
    }

    /// The exponents of two steps: a coarse one for values that fall on it exactly, and a fine one to
    /// round to.
    fn steps(&self, conversion: &Conversion, exact: &Exact) -> [i32; 2] {
        let typed = exponent_within(&conversion.difference(&self.form().resolution()));
        let (Some(lower), Some(upper)) = (&exact.lower, &exact.upper) else {
            let values = [&exact.nominal, &exact.lower, &exact.upper];
            let needed = values.into_iter().flatten().map(plain_value_step).min();
            let step = needed.map_or(typed, |needed| typed.min(needed));
            return [step, step];
        };
        let width = upper - lower;
        let most = &width / Rational::small(20, 1);
        let loses_little = |step: i32| {
            let inner = [
                round(lower, step, Toward::Upper) - lower,
                upper - round(upper, step, Toward::Lower),
            ];
            let [below, above] = inner;
            let moved = exact
                .nominal
                .as_ref()
                .map(|nominal| (round(nominal, step, Toward::Nearest) - nominal).abs());
            below + above <= most && moved.is_none_or(|moved| moved <= most)
        };
        let coarsest = exponent_within(&width);
        // At a hundredth of the range, no more than a fiftieth is lost.
        let fine = (coarsest - 2..=coarsest)
            .rev()
            .find(|step| loses_little(*step));
        let fine = fine.unwrap_or(coarsest - 2);
        [typed.max(fine), fine]
    }

    /// The limits in their written form. `None` unless every value falls on a step.
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

    /// The limits with each bound rounded to the next step inwards.
    fn inward(&self, exact: &Exact, unit: Unit, step: i32) -> Limits {
        let step = exact.possible_step(step, unit);
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
            // Every form has at least one of the three.
            (None, None, None) => self.form().clone(),
        })
    }
}

/// The step that leaves a value without a range three significant figures, or four if these are all
/// that it has.
fn plain_value_step(value: &Rational) -> i32 {
    let size = value.abs();
    if !size.is_positive() {
        return 0;
    }
    let first = exponent_within(&size);
    let keeps_all = |step: &i32| is_on_step(&size, *step);
    (first - 3..=first)
        .rev()
        .find(keeps_all)
        .unwrap_or(first - 2)
}

/// The values of limits in another unit, before rounding.
struct Exact {
    nominal: Option<Rational>,
    lower: Option<Rational>,
    upper: Option<Rational>,
}

impl Exact {
    /// The step, or another one if the point of a value rounded to it could be read as a separator of
    /// thousands: a finer one for a range, which may lose no more, and otherwise a coarser one.
    fn plain_step(&self, step: i32, unit: Unit) -> i32 {
        let values = [&self.nominal, &self.lower, &self.upper];
        let mut values = values.into_iter().flatten();
        if !values.any(|value| plain_decimals(value, unit, -step) != -step) {
            return step;
        }
        if self.lower.is_some() && self.upper.is_some() {
            step - 1
        } else {
            step + 1
        }
    }
}

impl Exact {
    /// The step, or a hundredth if a value rounded to the step would be below the least possible one: 0 K is −459.67 °F,
    /// and there is no −460 °F. The least values of all units have at most two decimals.
    fn possible_step(&self, step: i32, unit: Unit) -> i32 {
        let Some(least) = unit.least() else {
            return step;
        };
        let is_below = |value: &Option<Rational>, toward| {
            value
                .as_ref()
                .is_some_and(|value| round(value, step, toward) < *least.value())
        };
        if is_below(&self.nominal, Toward::Nearest) || is_below(&self.upper, Toward::Lower) {
            step.min(-2)
        } else {
            step
        }
    }
}

/// The form of a rounded nominal between rounded bounds.
fn around(
    nominal: Rational,
    lower: Rational,
    upper: Rational,
    at: impl Fn(Rational) -> Quantity,
) -> Form {
    // A nominal on a bound (+1/-0) may have been rounded past it.
    let nominal = nominal.max(lower.clone()).min(upper.clone());
    let (above, below) = (&upper - &nominal, &nominal - &lower);
    // Symmetric bounds read better as a tolerance.
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
