//! The grammar of specs, limits and quantities.
//!
//! ```text
//! spec      = limits [ "+" limits ]                  the second is an angle
//! limits    = "at least" value | "at most" value | "(" band ")" [ unit ] | band
//! band      = value [ "±" value | ("to" | "-") value | deviations
//!                   | "(" ( "±" value | value ("to" | "-") value | deviations ) ")" ]
//! deviations = "+" value [ "/" ] "-" value | "-" value "/" "+" value
//! value     = number [ unit ]
//! ```
//!
//! Parsing has three steps: [`Scanner`] reads numbers and units, the functions here put them into
//! a [`Draft`] as typed, and [`Draft::settle`] fills in omitted units and checks the result. The
//! rule `spec` is [`Spec::parse`](super::Spec::parse).

use super::draft::{Draft, DraftValue, TypedFraction};
use super::error::{Error, Expected};
use super::kind::Kind;
use super::limits::Limits;
use super::scan::{Scanner, is_dash};

pub(super) fn value(scanner: &mut Scanner<'_>) -> Result<DraftValue, Error> {
    let (number, at) = scanner.number()?;
    let slash = TypedFraction::find(&scanner.text[at.clone()]);
    let unit = scanner.unit()?;
    Ok(DraftValue {
        number,
        slash,
        at,
        unit,
    })
}

pub(super) fn limits_at(scanner: &mut Scanner<'_>) -> Result<Limits, Error> {
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
    // In `(9 ± 1) N·m` and `80 (71 to 88) in·lbf`, the unit at the end applies to all values. In
    // prose, a unit that follows another unit is the next word. Where no value has a unit, one was
    // looked for after the last value, and only a parenthesis can stand before another.
    let is_done = draft.first().unit.is_some()
        || ((scanner.is_in_prose() || !draft.has_unit()) && !scanner.is_after(')'));
    let shared = if is_done { None } else { scanner.unit()? };
    draft.settle(scanner, shared.map(|(unit, _)| unit))
}

fn close(scanner: &mut Scanner<'_>) -> Result<(), Error> {
    if scanner.eat(|c| c == ')') {
        return Ok(());
    }
    Err(scanner.expected(Expected::ClosingParenthesis))
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
        return after_plus(scanner, first);
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

/// What follows a value and a `+`: an upper deviation, or an angle to turn. The angle is left
/// for the caller to parse.
fn after_plus(scanner: &mut Scanner<'_>, nominal: DraftValue) -> Result<Draft, Error> {
    let before = *scanner;
    let plus = upper_deviation(scanner)?;
    let kind = |value: &DraftValue| value.unit.as_ref().map(|(unit, _)| unit.kind());
    if kind(&plus) == Some(Kind::Angle) && kind(&nominal) != Some(Kind::Angle) {
        *scanner = before;
        return Ok(Draft::Nominal(nominal));
    }
    if !scanner.next_is(|c| c == '/' || is_dash(c)) && kind(&nominal) == Some(Kind::Torque) {
        let range = plus.at.start..plus.unit.map_or(plus.at.end, |(_, at)| at.end);
        return Err(scanner.expected_at(Expected::Angle, range));
    }
    let minus = lower_deviation(scanner)?;
    Ok(Draft::Deviations {
        nominal,
        plus,
        minus,
    })
}

/// `+1`.
fn upper_deviation(scanner: &mut Scanner<'_>) -> Result<DraftValue, Error> {
    if !scanner.eat(|c| c == '+') {
        return Err(scanner.expected(Expected::UpperDeviation));
    }
    value(scanner)
}

/// `/−0.5` or `−0.5`.
fn lower_deviation(scanner: &mut Scanner<'_>) -> Result<DraftValue, Error> {
    scanner.eat_slash();
    if !scanner.eat(is_dash) {
        return Err(scanner.expected(Expected::LowerDeviation));
    }
    value(scanner)
}

fn in_parentheses(scanner: &mut Scanner<'_>, nominal: DraftValue) -> Result<Draft, Error> {
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
    // A minus here starts a lower deviation if a plus follows it. Otherwise it is the sign of a
    // bound.
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
        return Err(scanner.expected(Expected::To));
    }
    let upper = value(scanner)?;
    Ok(Draft::Between {
        nominal,
        lower,
        upper,
    })
}
