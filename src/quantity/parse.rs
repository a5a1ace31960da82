//! The grammar of specs, limits and quantities.
//!
//! ```text
//! spec      = limits [ "+" limits ]                  the second an angle
//! limits    = "at least" value | "at most" value | "(" band ")" [ unit ] | band
//! band      = value [ "±" value | ("to" | "-") value | deviations
//!                   | "(" ( "±" value | value ("to" | "-") value | deviations ) ")" ]
//! deviations = "+" value [ "/" ] "-" value | "-" value "/" "+" value
//! value     = number [ unit ]
//! ```
//!
//! Three steps: [`Scanner`] finds numbers and units, [`band`] puts them in a [`Draft`] as typed,
//! and [`settle`] shares out the units and checks that the whole makes sense.

use std::ops::Range;

use super::error::{Error, Part, Quoted, Reason};
use super::kind::Kind;
use super::limits::{Form, Limits, is_relative};
use super::number::Number;
use super::scan::{Scanner, as_decimal, is_dash};
use super::spec::Spec;
use super::unit::Unit;
use super::value::Quantity;

pub(super) fn spec(text: &str) -> Result<Spec, Error> {
    let mut scanner = start(text)?;
    let first = limits_at(&mut scanner)?;
    let plus = scanner.remaining();
    if !scanner.eat(|c| c == '+') {
        finish(&scanner)?;
        return Ok(first.into());
    }
    let angle = scanner.remaining();
    let turn = limits_at(&mut scanner)?;
    let angle = angle.start..scanner.at();
    finish(&scanner)?;
    if turn.kind() != Kind::Angle {
        return Err(scanner.expected_at(Part::Angle, angle));
    }
    if first.kind() != Kind::Torque {
        let reason = Reason::TurnAfterOtherKind { unit: first.unit() };
        return Err(Error::new(reason, plus));
    }
    Ok(Spec::with_turn(first, turn))
}

pub(super) fn limits(text: &str) -> Result<Limits, Error> {
    let mut scanner = start(text)?;
    let limits = limits_at(&mut scanner)?;
    if scanner.next_is(|c| c == '+') && limits.kind() == Kind::Torque {
        let rest = scanner.remaining();
        return Err(scanner.expected_at(Part::LimitsAlone, rest));
    }
    finish(&scanner)?;
    Ok(limits)
}

pub(super) fn quantity(text: &str) -> Result<Quantity, Error> {
    let mut scanner = start(text)?;
    let value = value(&mut scanner)?;
    let rest = scanner.remaining();
    if !rest.is_empty() && limits(text).is_ok() {
        return Err(scanner.expected_at(Part::OneValue, rest));
    }
    let unit = value.unit_or_error(&scanner)?;
    finish(&scanner)?;
    value.into_quantity(unit)
}

pub(super) fn unit(text: &str) -> Result<Unit, Error> {
    let mut scanner = start(text)?;
    let Some((unit, _)) = scanner.unit()? else {
        return Err(scanner.expected(Part::Unit));
    };
    finish(&scanner)?;
    Ok(unit)
}

/// Limits that begin at `at` in running text, or a value where what goes on after it is no limit
/// of its; and where they end.
pub(super) fn in_prose(text: &str, at: usize) -> Option<(Limits, usize)> {
    let end = |scanner: &Scanner<'_>| {
        let end = text[..scanner.at()].trim_end().len();
        // In the midst of a word, the number was part of it.
        (!text[end..].starts_with(char::is_alphanumeric)).then_some(end)
    };
    let mut scanner = Scanner::in_prose(text, at);
    if let Ok(limits) = limits_at(&mut scanner)
        && let Some(end) = end(&scanner)
    {
        return Some((limits, end));
    }
    let mut scanner = Scanner::in_prose(text, at);
    let only = value(&mut scanner).ok()?;
    only.unit()?;
    let limits = settle(&scanner, Draft::Nominal(only), None).ok()?;
    Some((limits, end(&scanner)?))
}

fn start(text: &str) -> Result<Scanner<'_>, Error> {
    let mut scanner = Scanner::new(text);
    scanner.skip_spaces();
    if scanner.rest().is_empty() {
        return Err(Error::new(Reason::Empty, 0..text.len()));
    }
    Ok(scanner)
}

fn finish(scanner: &Scanner<'_>) -> Result<(), Error> {
    let rest = scanner.remaining();
    if rest.is_empty() {
        return Ok(());
    }
    Err(scanner.expected_at(Part::End, rest))
}

/// A number with the unit that stands right after it, if one does.
struct Value {
    number: Number,
    at: Range<usize>,
    unit: Option<(Unit, Range<usize>)>,
}

/// What was typed, before units left out are filled in.
enum Draft {
    Nominal(Value),
    PlusMinus(Value, Value),
    Deviations {
        nominal: Value,
        plus: Value,
        minus: Value,
    },
    Range(Value, Value),
    Between {
        nominal: Value,
        lower: Value,
        upper: Value,
    },
    AtLeast(Value),
    AtMost(Value),
}

fn value(scanner: &mut Scanner<'_>) -> Result<Value, Error> {
    let (number, at) = scanner.number()?;
    let unit = scanner.unit()?;
    Ok(Value { number, at, unit })
}

fn limits_at(scanner: &mut Scanner<'_>) -> Result<Limits, Error> {
    let draft = if scanner.eat_words(&["at", "least"]) {
        Draft::AtLeast(value(scanner)?)
    } else if scanner.eat_words(&["at", "most"]) {
        Draft::AtMost(value(scanner)?)
    } else if scanner.eat(|c| c == '(') {
        let draft = band(scanner)?;
        close(scanner)?;
        draft
    } else {
        band(scanner)?
    };
    // `(9 ± 1) N·m`, but also `80 (71 to 88) in·lbf`: the unit at the end is for all. In prose,
    // one after another unit is the next word.
    let is_done = draft.first().unit.is_some()
        || (scanner.is_in_prose() && draft.has_unit() && !scanner.is_after(')'));
    let shared = if is_done { None } else { scanner.unit()? };
    settle(scanner, draft, shared.map(|(unit, _)| unit))
}

fn close(scanner: &mut Scanner<'_>) -> Result<(), Error> {
    if scanner.eat(|c| c == ')') {
        return Ok(());
    }
    Err(scanner.expected(Part::ClosingParenthesis))
}

fn band(scanner: &mut Scanner<'_>) -> Result<Draft, Error> {
    let first = value(scanner)?;
    if scanner.eat(|c| c == '(') {
        let draft = in_parentheses(scanner, first)?;
        close(scanner)?;
        return Ok(draft);
    }
    if scanner.eat_plus_minus() {
        return Ok(Draft::PlusMinus(first, value(scanner)?));
    }
    if scanner.next_is(|c| c == '+') {
        return plus(scanner, first);
    }
    if scanner.eat_words(&["to"]) {
        return Ok(Draft::Range(first, value(scanner)?));
    }
    if scanner.eat(is_dash) {
        let second = value(scanner)?;
        if !scanner.eat_slash() {
            return Ok(Draft::Range(first, second));
        }
        let plus = upper_deviation(scanner)?;
        return Ok(Draft::Deviations {
            nominal: first,
            plus,
            minus: second,
        });
    }
    Ok(Draft::Nominal(first))
}

/// After a `+`: an upper deviation, or the angle to turn, which is the spec's to read.
fn plus(scanner: &mut Scanner<'_>, nominal: Value) -> Result<Draft, Error> {
    let before = *scanner;
    let plus = upper_deviation(scanner)?;
    let kind = |value: &Value| value.unit.as_ref().map(|(unit, _)| unit.kind());
    if kind(&plus) == Some(Kind::Angle) && kind(&nominal) != Some(Kind::Angle) {
        *scanner = before;
        return Ok(Draft::Nominal(nominal));
    }
    if !scanner.next_is(|c| c == '/' || is_dash(c)) && kind(&nominal) == Some(Kind::Torque) {
        let range = plus.at.start..plus.unit.map_or(plus.at.end, |(_, at)| at.end);
        return Err(scanner.expected_at(Part::Angle, range));
    }
    let minus = lower_deviation(scanner)?;
    Ok(Draft::Deviations {
        nominal,
        plus,
        minus,
    })
}

/// `+1`.
fn upper_deviation(scanner: &mut Scanner<'_>) -> Result<Value, Error> {
    if !scanner.eat(|c| c == '+') {
        return Err(scanner.expected(Part::UpperDeviation));
    }
    value(scanner)
}

/// `/−0.5` or `−0.5`.
fn lower_deviation(scanner: &mut Scanner<'_>) -> Result<Value, Error> {
    scanner.eat_slash();
    if !scanner.eat(is_dash) {
        return Err(scanner.expected(Part::LowerDeviation));
    }
    value(scanner)
}

fn in_parentheses(scanner: &mut Scanner<'_>, nominal: Value) -> Result<Draft, Error> {
    if scanner.eat_plus_minus() {
        return Ok(Draft::PlusMinus(nominal, value(scanner)?));
    }
    if scanner.next_is(|c| c == '+') {
        let plus = upper_deviation(scanner)?;
        let minus = lower_deviation(scanner)?;
        return Ok(Draft::Deviations {
            nominal,
            plus,
            minus,
        });
    }
    // A minus here is a lower deviation if a plus follows it, otherwise the sign of a bound.
    let before = *scanner;
    if scanner.eat(is_dash) {
        let minus = value(scanner)?;
        if scanner.eat_slash() {
            let plus = upper_deviation(scanner)?;
            return Ok(Draft::Deviations {
                nominal,
                plus,
                minus,
            });
        }
        *scanner = before;
    }
    let lower = value(scanner)?;
    if !scanner.eat_words(&["to"]) && !scanner.eat(is_dash) {
        return Err(scanner.expected(Part::To));
    }
    let upper = value(scanner)?;
    Ok(Draft::Between {
        nominal,
        lower,
        upper,
    })
}

impl Draft {
    /// Whether any of the values has a unit of its own.
    fn has_unit(&self) -> bool {
        let values = match self {
            Self::Nominal(only) | Self::AtLeast(only) | Self::AtMost(only) => [only, only, only],
            Self::PlusMinus(first, last) | Self::Range(first, last) => [first, last, last],
            Self::Deviations {
                nominal,
                plus,
                minus,
            } => [nominal, plus, minus],
            Self::Between {
                nominal,
                lower,
                upper,
            } => [nominal, lower, upper],
        };
        values.iter().any(|value| value.unit.is_some())
    }

    fn first(&self) -> &Value {
        match self {
            Self::Nominal(first)
            | Self::PlusMinus(first, _)
            | Self::Deviations { nominal: first, .. }
            | Self::Range(first, _)
            | Self::Between { nominal: first, .. }
            | Self::AtLeast(first)
            | Self::AtMost(first) => first,
        }
    }
}

impl Value {
    fn unit(&self) -> Option<Unit> {
        self.unit.as_ref().map(|(unit, _)| *unit)
    }

    /// Where the unit stands, or else the number it belongs to.
    fn unit_at(&self) -> Range<usize> {
        self.unit
            .as_ref()
            .map_or_else(|| self.at.clone(), |(_, at)| at.clone())
    }

    fn unit_or_error(&self, scanner: &Scanner<'_>) -> Result<Unit, Error> {
        self.unit().ok_or_else(|| {
            let number = scanner.quote(self.at.clone());
            let end = self.at.end..self.at.end;
            let found = scanner.quote(scanner.next_word());
            Error::new(Reason::MissingUnit { number, found }, end)
        })
    }

    fn into_quantity(self, unit: Unit) -> Result<Quantity, Error> {
        if self.number.is_fraction() && !unit.takes_fractions() {
            let found = Quoted::new(&self.number.to_string());
            let decimal = as_decimal(&self.number);
            let reason = Reason::FractionOfSymbol {
                unit,
                found,
                decimal,
            };
            return Err(Error::new(reason, self.at));
        }
        Ok(Quantity::from_number(self.number, unit))
    }

    /// A value of the kind of `like`, in its own unit or else in `unit`.
    fn of_kind(self, like: Unit, unit: Unit) -> Result<Quantity, Error> {
        let own = self.unit().unwrap_or(unit);
        self.in_unit_like(own, like)
    }

    /// A value in `unit`, if that is of the kind of `like`.
    fn in_unit_like(self, unit: Unit, like: Unit) -> Result<Quantity, Error> {
        if unit.kind() != like.kind() {
            let reason = Reason::OtherKind {
                expected: like,
                found: unit,
            };
            return Err(Error::new(reason, self.unit_at()));
        }
        self.into_quantity(unit)
    }

    /// A tolerance on `nominal`: of its kind or in per cent of it, and not below zero.
    fn tolerance(self, nominal: &Quantity, unit: Unit) -> Result<Quantity, Error> {
        let (at, unit_at) = (self.at.clone(), self.unit_at());
        if self.number.value().is_negative() {
            let found = Quoted::new(&self.number.to_string());
            return Err(Error::new(
                Reason::Expected(Part::ToleranceNotNegative, found),
                at,
            ));
        }
        let mut own = self.unit().unwrap_or(unit);
        if nominal.kind() == Kind::Temperature
            && let Some(scale) = own.scale_of_difference()
        {
            // `80 °C ± 5 Δ°C` says twice what a tolerance is.
            own = scale;
        }
        let like = if own == Unit::PERCENT {
            own
        } else {
            nominal.unit()
        };
        let part = self.in_unit_like(own, like)?;
        // Of a scale with an arbitrary zero there are no parts.
        if is_relative(nominal, &part) && nominal.kind() == Kind::Temperature {
            let reason = Reason::PercentOfScale {
                unit: nominal.unit(),
            };
            return Err(Error::new(reason, at.start..unit_at.end));
        }
        Ok(part)
    }
}

/// Fills in the units left out, and checks the whole.
fn settle(scanner: &Scanner<'_>, draft: Draft, shared: Option<Unit>) -> Result<Limits, Error> {
    // The unit of the first value: its own, or one that stands later and is for all.
    let leading = |first: &Value, later: &[&Value]| {
        let later = later.iter().find_map(|value| value.unit());
        match first.unit().or(shared).or(later) {
            Some(unit) => Ok(unit),
            None => first.unit_or_error(scanner),
        }
    };
    let form = match draft {
        Draft::Nominal(only) => {
            let unit = leading(&only, &[])?;
            Form::Nominal(only.into_quantity(unit)?)
        }
        Draft::AtLeast(only) => {
            let unit = leading(&only, &[])?;
            Form::AtLeast(only.into_quantity(unit)?)
        }
        Draft::AtMost(only) => {
            let unit = leading(&only, &[])?;
            Form::AtMost(only.into_quantity(unit)?)
        }
        Draft::PlusMinus(nominal, tolerance) => {
            let unit = leading(&nominal, &[&tolerance])?;
            let nominal = nominal.into_quantity(unit)?;
            let at = tolerance.at.clone();
            let tolerance = tolerance.tolerance(&nominal, unit)?;
            check_width(scanner, &nominal, &[&tolerance], at)?;
            Form::PlusMinus { nominal, tolerance }
        }
        Draft::Deviations {
            nominal,
            plus,
            minus,
        } => {
            let unit = leading(&nominal, &[&minus, &plus])?;
            let nominal = nominal.into_quantity(unit)?;
            let (for_plus, for_minus) = (minus.unit().unwrap_or(unit), plus.unit().unwrap_or(unit));
            let at = plus.at.start.min(minus.at.start)..plus.at.end.max(minus.at.end);
            let plus = plus.tolerance(&nominal, for_plus)?;
            let minus = minus.tolerance(&nominal, for_minus)?;
            check_width(scanner, &nominal, &[&plus, &minus], at)?;
            Form::Deviations {
                nominal,
                plus,
                minus,
            }
        }
        Draft::Range(lower, upper) => {
            let unit = leading(&lower, &[&upper])?;
            let at = lower.at.start..upper.unit_at().end;
            let lower = lower.into_quantity(unit)?;
            let upper = upper.of_kind(unit, unit)?;
            check_order(scanner, &lower, &upper, at)?;
            Form::Range { lower, upper }
        }
        Draft::Between {
            nominal,
            lower,
            upper,
        } => {
            let unit = leading(&nominal, &[&upper, &lower])?;
            let at = lower.at.start..upper.unit_at().end;
            let nominal = nominal.into_quantity(unit)?;
            let lower = in_same_unit(lower, unit)?;
            let upper = in_same_unit(upper, unit)?;
            check_order(scanner, &lower, &upper, at.clone())?;
            if nominal.value() < lower.value() || nominal.value() > upper.value() {
                return Err(scanner.expected_at(Part::BoundsAroundNominal, at));
            }
            Form::Between {
                nominal,
                lower,
                upper,
            }
        }
    };
    Ok(Limits::from_form(form))
}

fn in_same_unit(value: Value, unit: Unit) -> Result<Quantity, Error> {
    let at = value.unit_at();
    let bound = value.of_kind(unit, unit)?;
    if bound.unit() == unit {
        return Ok(bound);
    }
    let reason = Reason::OtherUnit {
        expected: unit,
        found: bound.unit(),
    };
    Err(Error::new(reason, at))
}

/// Refuses a tolerance that allows nothing but the nominal: no reading meets it, and no
/// conversion can be rounded into it.
fn check_width(
    scanner: &Scanner<'_>,
    nominal: &Quantity,
    parts: &[&Quantity],
    at: Range<usize>,
) -> Result<(), Error> {
    let nothing = |part: &&Quantity| {
        part.value().is_zero() || (is_relative(nominal, part) && nominal.value().is_zero())
    };
    if !parts.iter().all(nothing) {
        return Ok(());
    }
    Err(scanner.expected_at(Part::ToleranceAboveZero, at))
}

fn check_order(
    scanner: &Scanner<'_>,
    lower: &Quantity,
    upper: &Quantity,
    at: Range<usize>,
) -> Result<(), Error> {
    let upper_value = upper.unit().value_to(lower.unit(), upper.value());
    if *lower.value() < upper_value {
        return Ok(());
    }
    if *lower.value() == upper_value {
        return Err(scanner.expected_at(Part::DifferentLimits, at));
    }
    let found = scanner.quote(at.clone());
    let mended = format!("{upper} to {lower}");
    Err(Error::new(Reason::Reversed { found, mended }, at))
}
