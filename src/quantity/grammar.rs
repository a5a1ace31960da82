//! The grammar of specs, limits and quantities.
//!
//! ```text
//! spec      = limits [ "+" limits ]                  the second is an angle
//! limits    = least value | most value | "between" value "and" value | "(" band ")" [ unit ]
//!           | [ "about" ] band | value ( "min" | "max" )
//! least     = "at least" | "min" | "≥" | ...         most = "at most" | "max" | "≤" | "up to" | ...
//! band      = value [ "±" value | ("to" | "-") value | deviations
//!                   | "(" ( "±" value | value ("to" | "-") value | deviations ) ")" ]
//! deviations = "+" value [ "/" ] "-" value | "-" value "/" "+" value
//! value     = number [ unit ]
//! ```
//!
//! Parsing has three steps: [`Scanner`] reads numbers and units, the functions here put them into
//! a [`Draft`] as typed, and [`Draft::settle`] fills in omitted units and checks the result. The
//! rule `spec` is [`Spec::parse`](super::Spec::parse).

use std::ops::Range;

use super::draft::{Draft, DraftValue, TypedFraction};
use super::error::{Error, Expected, Reason};
use super::kind::Kind;
use super::limits::Limits;
use super::number::Number;
use super::scan::{Scanner, is_dash, is_slash};
use super::unit::Unit;

pub(super) fn value(scanner: &mut Scanner<'_>) -> Result<DraftValue, Error> {
    let before = *scanner;
    if scanner.next_is(|c| matches!(c, 'a' | 'A')) && scanner.eat_words(&["AWG"]) {
        let start = before.remaining().start;
        let unit_at = start..scanner.at();
        let (number, at) = scanner.gauge_number()?;
        return Ok(DraftValue {
            number,
            slash: None,
            at,
            unit: Some((Unit::WIRE_GAUGE, unit_at)),
        });
    }
    let (number, at) = scanner.number()?;
    let slash = TypedFraction::find(&scanner.text[at.clone()]);
    refuse_decimals_over_decimals(scanner, &number, &at)?;
    let unit = scanner.unit().map_err(|error| error.with_value(&number))?;
    Ok(DraftValue {
        number,
        slash,
        at,
        unit,
    })
}

/// Rejects `0.030/0.035 in`: two numbers with a slash of which one has decimals are a range.
fn refuse_decimals_over_decimals(
    scanner: &Scanner<'_>,
    first: &Number,
    at: &Range<usize>,
) -> Result<(), Error> {
    if first.is_fraction() || !scanner.rest().starts_with(is_slash) {
        return Ok(());
    }
    let mut ahead = *scanner;
    ahead.eat_slash();
    let is_number = ahead
        .rest()
        .starts_with(|c: char| c.is_ascii_digit() || c == '.');
    let Some((second, second_at)) = is_number.then(|| ahead.number().ok()).flatten() else {
        return Ok(());
    };
    // `3000 1/min` has a unit there.
    let Ok(Some((unit, _))) = ahead.unit() else {
        return Ok(());
    };
    let (lower, upper) = if first.value() <= second.value() {
        (first, &second)
    } else {
        (&second, first)
    };
    let space = if unit.closes_up() { "" } else { " " };
    let whole = at.start..second_at.end;
    let reason = Reason::UnusualFraction {
        unit,
        found: scanner.quote(whole.clone()),
        range: Some(format!("{lower}{space}{unit} to {upper}{space}{unit}")),
        decimal: None,
    };
    Err(Error::new(reason, whole))
}

pub(super) fn limits_at(scanner: &mut Scanner<'_>) -> Result<Limits, Error> {
    // Nearly all values start with a digit, for which no word is looked up.
    let has_word = scanner.next_is(|c| c.is_alphabetic() || matches!(c, '≤' | '≥' | '<' | '>'));
    let draft = if has_word && (eat_any(scanner, AT_LEAST) || scanner.eat_sign('≥', ">=")) {
        Draft::AtLeast(value(scanner)?)
    } else if has_word && (eat_any(scanner, AT_MOST) || scanner.eat_sign('≤', "<=")) {
        Draft::AtMost(value(scanner)?)
    } else if has_word && scanner.eat_words(&["between"]) {
        let lower = value(scanner)?;
        if !scanner.eat_words(&["and"]) {
            return Err(scanner.expected(Expected::And));
        }
        Draft::Range(lower, value(scanner)?)
    } else if scanner.eat(|c| c == '(') {
        let draft = band(scanner)?;
        close(scanner)?;
        draft
    } else {
        if !(has_word && eat_any(scanner, ABOUT)) {
            scanner.eat(|c| matches!(c, '~' | '≈'));
        }
        let draft = band(scanner)?;
        with_bound_after(scanner, draft)
    };
    // In `(9 ± 1) N·m` and `80 (71 to 88) in·lbf`, the unit at the end applies to all values. In
    // prose, a unit that follows another unit is the next word. Where no value has a unit, one was
    // looked for after the last value, and only a parenthesis can stand before another.
    let is_done = draft.first().unit.is_some()
        || ((scanner.is_in_prose() || !draft.has_unit()) && !scanner.is_after(')'));
    let shared = if is_done { None } else { scanner.unit()? };
    draft.settle(scanner, shared.map(|(unit, _)| unit))
}

/// Words before a lower bound.
const AT_LEAST: &[&[&str]] = &[
    &["at", "least"],
    &["minimum"],
    &["min"],
    &["not", "less", "than"],
    &["no", "less", "than"],
];

/// Words before an upper bound.
const AT_MOST: &[&[&str]] = &[
    &["at", "most"],
    &["maximum"],
    &["max"],
    &["up", "to"],
    &["not", "more", "than"],
    &["no", "more", "than"],
];

/// Words before a nominal without a tolerance. They are not printed: a value without limits claims
/// no more.
const ABOUT: &[&[&str]] = &[
    &["about"],
    &["approximately"],
    &["approx"],
    &["circa"],
    &["ca"],
];

/// Takes the first of some phrases that comes next, with a full stop if it is an abbreviation.
fn eat_any(scanner: &mut Scanner<'_>, phrases: &[&[&str]]) -> bool {
    let is_taken = phrases.iter().any(|words| scanner.eat_words(words));
    if is_taken && scanner.rest().starts_with('.') {
        scanner.eat(|c| c == '.');
    }
    is_taken
}

/// The draft with a word after it that makes its value a bound: `15 bar min`.
fn with_bound_after(scanner: &mut Scanner<'_>, draft: Draft) -> Draft {
    let Draft::Nominal(value) = draft else {
        return draft;
    };
    // Without a unit, `min` is the minute.
    if value.unit.is_none() || !scanner.next_is(|c| matches!(c, 'm' | 'M')) {
        return Draft::Nominal(value);
    }
    let mut ahead = *scanner;
    let is_least = eat_any(&mut ahead, &[&["minimum"], &["min"]]);
    let is_most = !is_least && eat_any(&mut ahead, &[&["maximum"], &["max"]]);
    // In prose, `0.10 mm min` may be followed by more of the value, and a full stop ends a sentence.
    if is_least || is_most {
        *scanner = ahead;
    }
    match (is_least, is_most) {
        (true, _) => Draft::AtLeast(value),
        (_, true) => Draft::AtMost(value),
        _ => Draft::Nominal(value),
    }
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
