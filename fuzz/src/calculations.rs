//! Calculations of the bench, as text: the name of a calculation, then a line `NAME = VALUE` for each input.

use benchleaf::quantity::{Gallons, Quantity};
use benchleaf::trade::{Answered, Bound, Calculation, Rounding};

/// The examples of all calculations, and the same with tolerances.
#[must_use]
pub fn seeds() -> Vec<String> {
    let exact = Calculation::ALL
        .iter()
        .map(|calculation| text_of(calculation, ""));
    let wide = Calculation::ALL
        .iter()
        .map(|calculation| text_of(calculation, " ± 1 %"));
    exact.chain(wide).collect()
}

/// The example of a calculation. Values that may have a tolerance get this one.
fn text_of(calculation: &Calculation, tolerance: &str) -> String {
    let lines = calculation.example.iter().map(|(name, value)| {
        let varies = calculation.input(name).is_some_and(|input| input.may_vary);
        format!("{name} = {value}{}\n", if varies { tolerance } else { "" })
    });
    format!("{}\n{}", calculation.name, lines.collect::<String>())
}

/// For any text: nothing panics, and the same text gives the same answer. A result that is rounded up is not below one that
/// is rounded down. The range over all tolerances has its ends in order, with the result between them, and limits for a
/// reading are the same text again.
///
/// Returns whether there was an answer.
#[must_use]
pub fn calculations_hold(text: &str) -> bool {
    let mut lines = text.lines();
    let name = lines.next().unwrap_or_default().trim();
    let Some(calculation) = Calculation::named(name) else {
        return false;
    };
    let mut entered = Vec::new();
    for line in lines {
        let Some((name, value)) = line.split_once('=') else {
            continue;
        };
        let Some(input) = calculation.input(name.trim()) else {
            continue;
        };
        match input.parse(value.trim(), Gallons::Us) {
            Ok(value) => entered.push(value),
            Err(error) => {
                let _ = (error.to_string(), error.help());
            }
        }
    }
    let answer = match calculation.answer(&entered) {
        Ok(answer) => answer,
        Err(error) => {
            let _ = (error.to_string(), error.help());
            return false;
        }
    };
    let again = calculation.answer(&entered).expect("an answer, as before");
    assert_eq!(answer.lines, again.lines);
    for (one, other) in answer.results.iter().zip(&again.results) {
        assert_eq!(one.value(), other.value());
        check(one);
    }
    true
}

fn check(result: &Answered) {
    let value = result.value();
    let _ = (result.text(), result.outcome.rounded());
    let step = value.resolution();
    if let Some((least, most)) = result.range() {
        assert!(least.value() < most.value(), "{least} to {most}");
        // The range is rounded inwards, by no more than a step of the result.
        assert!(
            *value.value() >= least.value() - &step - &step,
            "{value} below {least}"
        );
        assert!(
            *value.value() <= most.value() + &step + &step,
            "{value} above {most}"
        );
    }
    if let (Rounding::Up, Ok(limits)) = (result.outcome.rounding, result.limits(Bound::AtMost)) {
        let most = limits.upper().expect("an upper bound");
        let above = most.value() - value.value();
        assert!(!above.is_positive(), "{most} above the rounded-up {value}");
    }
    for (_, bound) in Bound::ALL {
        if let Ok(limits) = result.limits(bound) {
            let read = benchleaf::quantity::Limits::parse(&limits.text());
            assert_eq!(read.as_ref(), Ok(&limits));
        }
    }
    if let Some(kind) = result.outcome.kind {
        let base = result.value_in(kind.base()).expect("a unit of its kind");
        assert!(
            base.agrees_with(&value) || near(&base, &value),
            "{base} and {value}"
        );
    }
}

/// Whether two values of a result, each rounded to the same side, are no more than a step apart.
fn near(one: &Quantity, other: &Quantity) -> bool {
    let other = other.in_unit(one.unit()).expect("the same kind");
    let most = one.resolution() + other.resolution();
    let apart = one.value() - other.value();
    apart.abs() <= most
}
