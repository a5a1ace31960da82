//! Answers: the arithmetic for the values that are aimed at, and the results over all tolerances.

use super::entry::{Bound, Calculation, Outcome, Rounding};
use super::given::{End, Entered, Given};
use super::input::Need;
use super::worked::{Exact, Worked, without_unit};
use crate::quantity::{Gallons, Limits, Quantity, Rational, Unit};
use crate::trade::error::Error;
use crate::trade::figures::{ceiling, decimals_for, floor, rounded, whole};
use crate::trade::interval::Interval;

/// What a calculation answers.
#[derive(Debug)]
#[non_exhaustive]
pub struct Answer {
    /// All inputs, as given or by default, in the order of the table.
    pub inputs: Vec<Entered>,
    /// The arithmetic, for the values that are aimed at.
    pub lines: Vec<String>,
    /// The results that the inputs give.
    pub results: Vec<Answered>,
}

/// A result of a calculation.
#[derive(Debug)]
pub struct Answered {
    /// What it is.
    pub outcome: &'static Outcome,
    exact: Exact,
    /// The least and the greatest result over all tolerances, in the unit of the result. `None` without tolerances.
    ends: Option<(Interval, Interval)>,
}

/// The most inputs with a tolerance. Each of them doubles the number of cases to calculate.
const MOST_TOLERANCES: u32 = 8;

impl Calculation {
    /// Calculates. Inputs that are not given are taken at their defaults.
    ///
    /// # Errors
    ///
    /// If an input is missing or given twice, or if there is no result for the values.
    pub fn answer(&self, given: &[Entered]) -> Result<Answer, Error> {
        let inputs = self.complete(given)?;
        let at = |ends: &dyn Fn(usize) -> End| -> Result<Worked, Error> {
            let values = inputs.iter().enumerate();
            let values: Vec<_> = values
                .map(|(index, entered)| (entered.input(), entered.at(ends(index))))
                .collect();
            (self.work)(&Given { values: &values })
        };
        let aimed = at(&|_| End::Aim)?;
        let tolerances: Vec<usize> = (0..inputs.len())
            .filter(|index| inputs[*index].varies())
            .collect();
        let count = u32::try_from(tolerances.len()).unwrap_or(u32::MAX);
        if count > MOST_TOLERANCES {
            let expected = format!("at most {MOST_TOLERANCES} inputs with a tolerance");
            return Err(Error::new(expected, format!("{count}")));
        }
        let mut ends: Vec<Option<(Interval, Interval)>> = vec![None; self.results.len()];
        let cases = if count == 0 { 0 } else { 1_u32 << count };
        for case in 0..cases {
            let worked = at(&|index| {
                let place = tolerances.iter().position(|varied| *varied == index);
                match place {
                    None => End::Aim,
                    Some(place) if case >> place & 1 == 0 => End::Lower,
                    Some(_) => End::Upper,
                }
            })?;
            for (slot, (value, aim)) in ends.iter_mut().zip(worked.values.iter().zip(&aimed.values))
            {
                let Some((value, aim)) = value.clone().zip(aim.as_ref()) else {
                    continue;
                };
                widen(slot, value.shown_in(aim.unit).value);
            }
        }
        let results = self.results.iter().zip(aimed.values).zip(ends);
        let results = results.filter_map(|((outcome, exact), ends)| {
            Some(Answered {
                outcome,
                exact: exact?,
                ends,
            })
        });
        Ok(Answer {
            results: results.collect(),
            lines: aimed.lines,
            inputs,
        })
    }

    /// All inputs in the order of the table, with defaults for those that are not given.
    fn complete(&self, given: &[Entered]) -> Result<Vec<Entered>, Error> {
        let mut inputs = Vec::new();
        for input in self.inputs {
            let mut entered = given
                .iter()
                .filter(|entered| entered.input().name == input.name);
            if let Some(first) = entered.next() {
                if let Some(second) = entered.next() {
                    let found = format!("`{}` and `{}`", first.text(), second.text());
                    return Err(Error::new(format!("one value for `{}`", input.name), found));
                }
                inputs.push(first.clone());
                continue;
            }
            match input.need {
                Need::Optional => {}
                Need::Required => {
                    let error = Error::new(format!("a value for `{}`", input.name), "none");
                    return Err(error.with_help(format!("it is {}", input.about)));
                }
                Need::Default(text) => {
                    let default = input.parse(text, Gallons::Unstated);
                    // A test reads all defaults.
                    let failed = |_| Error::new(format!("a value for `{}`", input.name), "none");
                    inputs.push(default.map_err(failed)?);
                }
            }
        }
        Ok(inputs)
    }
}

/// Widens a pair of the least and the greatest value.
fn widen(slot: &mut Option<(Interval, Interval)>, value: Interval) {
    match slot {
        None => *slot = Some((value.clone(), value)),
        Some((least, greatest)) => {
            if value.low() < least.low() {
                *least = value.clone();
            }
            if value.high() > greatest.high() {
                *greatest = value;
            }
        }
    }
}

impl Answered {
    /// The value, rounded to the side of the result, in the unit that follows from the inputs.
    #[must_use]
    pub fn value(&self) -> Quantity {
        self.rounded(&self.exact)
    }

    /// As [`value`](Self::value), in another unit. `None` if the unit is of another kind.
    #[must_use]
    pub fn value_in(&self, unit: Unit) -> Option<Quantity> {
        let is_same = self.outcome.kind == Some(unit.kind());
        is_same.then(|| self.rounded(&self.exact.clone().shown_in(unit)))
    }

    fn rounded(&self, exact: &Exact) -> Quantity {
        let decimals = decimals_for(&exact.value.middle(), self.outcome.figures);
        // A step that is between the bounds of what is known is taken for the value itself. So a value that is exact but
        // was calculated with roots keeps its digits, and the error to the unsafe side is less than one part in 10²⁰.
        let value = match self.outcome.rounding {
            Rounding::Up => ceiling(exact.value.low(), decimals),
            Rounding::Down => floor(exact.value.high(), decimals),
            Rounding::Nearest => rounded(&exact.value.middle(), decimals),
        };
        Quantity::new(value, exact.unit, decimals)
    }

    /// The value as printed.
    #[must_use]
    pub fn text(&self) -> String {
        self.text_of(&self.value())
    }

    /// The text of a value of this result. A plain number has no unit.
    #[must_use]
    pub fn text_of(&self, value: &Quantity) -> String {
        if self.outcome.kind.is_some() {
            value.text()
        } else {
            without_unit(&value.text())
        }
    }

    /// The least and the greatest result over all tolerances of the inputs, rounded inwards. `None` without tolerances, or
    /// if nothing is left between them.
    #[must_use]
    pub fn range(&self) -> Option<(Quantity, Quantity)> {
        let (least, greatest) = self.ends.as_ref()?;
        let width = greatest.low() - least.high();
        if !width.is_positive() {
            return None;
        }
        let decimals = self.decimals(&(width / whole(20)));
        let lower = ceiling(least.low(), decimals);
        let upper = floor(greatest.high(), decimals);
        (lower < upper).then(|| {
            (
                self.quantity(lower, decimals),
                self.quantity(upper, decimals),
            )
        })
    }

    /// Limits for a reading. They never permit what the inputs forbid.
    ///
    /// # Errors
    ///
    /// If the result is a plain number, if it can't be a value of its kind, or if it has no tolerance but should have two
    /// bounds.
    pub fn limits(&self, bound: Bound) -> Result<Limits, Error> {
        if self.outcome.kind.is_none() {
            let expected = "a result with a unit";
            return Err(Error::new(
                expected,
                format!("the number `{}`", self.text()),
            ));
        }
        let ends = self.ends.clone();
        let single = || (self.exact.value.clone(), self.exact.value.clone());
        let decimals = self.decimals(&whole(0));
        let text = match bound {
            Bound::Within => {
                let Some((lower, upper)) = self.range() else {
                    let error = Error::new(
                        "an input with a tolerance",
                        format!("the single result `{}`", self.text()),
                    );
                    return Err(error.with_help(
                        "give an input its tolerance, or say `bound = \"at-least\"` or `bound = \"at-most\"`",
                    ));
                };
                format!("{} to {}", lower.text(), upper.text())
            }
            Bound::AtLeast => {
                let (_, greatest) = ends.unwrap_or_else(single);
                let value = ceiling(greatest.low(), decimals);
                format!("at least {}", self.quantity(value, decimals).text())
            }
            Bound::AtMost => {
                let (least, _) = ends.unwrap_or_else(single);
                let value = floor(least.high(), decimals);
                format!("at most {}", self.quantity(value, decimals).text())
            }
        };
        Limits::parse(&text).map_err(|error| {
            let what = self.outcome.about;
            Error::new(
                format!("a possible value of {what}"),
                format!("`{text}`: {error}"),
            )
        })
    }

    fn quantity(&self, value: Rational, decimals: u8) -> Quantity {
        Quantity::new(value, self.exact.unit, decimals)
    }

    /// The decimals of a bound: as many as the result has, or more if a step of this size needs them.
    fn decimals(&self, step: &Rational) -> u8 {
        let needed = decimals_for(&self.exact.value.middle(), self.outcome.figures);
        needed.max(decimals_for(step, 1))
    }
}
