//! `benchleaf convert`

use super::bench::{AnswerArguments, limits, plain_number, unit, with_six_decimals};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Limits, Unit, UnitOrder};
use clap::Args;
use serde::Serialize;

/// Convert a value, with its limits, to other units
///
/// Limits are rounded inwards, so the converted limits never allow more than the given ones. A value
/// without limits keeps its precision; the unrounded value is also printed.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf convert '86 in·lbf' N·m
  benchleaf convert '9 N·m ± 1 N·m' in-lb ft-lb
  benchleaf convert '0.7 to 0.8 mm'              to the usual units")]
pub(super) struct Arguments {
    /// The value, such as `9 N·m ± 1 N·m`, `8 to 10 ft-lb` or `at least 15 bar`
    #[arg(value_name = "VALUE")]
    value: String,

    /// The units to convert to; by default the usual units for this kind of value
    #[arg(value_name = "UNIT")]
    units: Vec<String>,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
struct Answer {
    given: String,
    converted: Vec<Converted>,
}

#[derive(Serialize)]
struct Converted {
    unit: &'static str,
    text: String,
    nominal: Option<String>,
    lower: Option<String>,
    upper: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let given = limits(&arguments.value)?;
    let units = if arguments.units.is_empty() {
        let order = UnitOrder::default();
        let usual = order.units(given.kind()).iter().copied();
        usual.filter(|unit| *unit != given.unit()).collect()
    } else {
        let requested = arguments.units.iter();
        requested
            .map(|text| unit(text))
            .collect::<Result<Vec<_>, _>>()?
    };
    if units.is_empty() {
        let message = format!("there is no other usual unit of {}", given.kind().name());
        return Err(CliError::new(message).help("name a unit: `benchleaf convert '90 s' min`"));
    }
    let mut lines = vec![given.text()];
    let mut converted = Vec::new();
    for unit in units {
        let (answer, line) = convert(&given, unit)?;
        converted.push(answer);
        lines.push(line);
    }
    let answer = Answer {
        given: given.text(),
        converted,
    };
    arguments.answer.print(&answer, &lines);
    Ok(ExitStatus::Success)
}

fn convert(given: &Limits, unit: Unit) -> Result<(Converted, String), CliError> {
    let Some(text) = given.text_in(unit) else {
        let message = format!(
            "{} is a {}, and `{}` is a unit of {}",
            given.text(),
            given.kind().name(),
            unit.symbol(),
            unit.kind().name()
        );
        return Err(CliError::new(message));
    };
    let exact =
        |bound: Option<crate::quantity::Quantity>| bound.and_then(|bound| bound.in_unit(unit));
    let number = |bound| exact(bound).map(|bound| plain_number(bound.value()));
    let rounded = given.rounded_in(unit).and_then(|rounded| rounded.nominal());
    let unrounded = exact(given.nominal());
    let line = match (unrounded, rounded) {
        (Some(unrounded), Some(rounded)) if unrounded.value() != rounded.value() => {
            let unrounded = with_six_decimals(unrounded.value(), unit);
            format!("= {text}   (nominal {unrounded} before rounding)")
        }
        _ => format!("= {text}"),
    };
    let answer = Converted {
        unit: unit.symbol(),
        text,
        nominal: number(given.nominal()),
        lower: number(given.lower()),
        upper: number(given.upper()),
    };
    Ok((answer, line))
}
