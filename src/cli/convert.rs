//! `benchleaf convert`

use super::bench::{
    AnswerArguments, GallonsArguments, GallonsUsed, plain_number, printed_number, spec, unit,
    with_six_decimals,
};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Kind, Quantity, Spec, Unit, UnitOrder};
use clap::Args;
use serde::Serialize;

/// Convert a value, with its limits, to other units
///
/// Limits are rounded inwards, so the converted limits never allow more than the given ones. A value
/// without limits keeps its precision; the unrounded value is also printed. With `--json`, the limits
/// are given as printed and as exact fractions.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf convert '86 in·lbf' N·m
  benchleaf convert '9 N·m ± 1 N·m' in-lb ft-lb
  benchleaf convert '0.7 to 0.8 mm'              to the usual units
  benchleaf convert '20 N·m + 90°' ft-lb
  benchleaf convert '2 gal' L --gallons imperial
  benchleaf convert '14 AWG'                     the area of the wire")]
pub(super) struct Arguments {
    /// The value, such as `9 N·m ± 1 N·m`, `8 to 10 ft-lb` or `at least 15 bar`
    #[arg(value_name = "VALUE")]
    value: String,

    /// The units to convert to; by default the usual units for this kind of value
    #[arg(value_name = "UNIT")]
    units: Vec<String>,

    #[command(flatten)]
    gallons: GallonsArguments,

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
    /// Rounded to the nearest; its exact value is `exact.nominal`.
    nominal: Option<String>,
    /// Rounded inwards, as printed.
    lower: Option<String>,
    upper: Option<String>,
    exact: Exact,
}

/// The exact values as fractions, `254/10`.
#[derive(Serialize)]
struct Exact {
    nominal: Option<String>,
    lower: Option<String>,
    upper: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let gallons = arguments.gallons.used();
    let given = spec(&arguments.value, gallons.meant)?;
    let kind = given.limits().kind();
    let units = if arguments.units.is_empty() {
        usual_units(given.limits().unit(), gallons)
    } else {
        let requested = arguments.units.iter();
        requested
            .map(|text| unit(text, gallons.meant))
            .collect::<Result<Vec<_>, _>>()?
    };
    if units.is_empty() {
        let message = format!("there is no other usual unit of {}", kind.name());
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

/// The usual units of a kind but for the given one, of the system of gallons that is used.
fn usual_units(given: Unit, gallons: GallonsUsed) -> Vec<Unit> {
    if given == Unit::WIRE_GAUGE {
        return vec![Unit::SQUARE_MILLIMETRE];
    }
    let order = UnitOrder::default();
    let mut units = order.units(given.kind()).to_vec();
    match given.kind() {
        Kind::Volume => units.extend([
            Unit::IMPERIAL_GALLON,
            Unit::IMPERIAL_PINT,
            Unit::IMPERIAL_FLUID_OUNCE,
        ]),
        Kind::Flow => units.push(Unit::IMPERIAL_GALLON_PER_MINUTE),
        _ => {}
    }
    units.retain(|unit| *unit != given && !gallons.leaves_out(*unit));
    units
}

fn convert(given: &Spec, unit: Unit) -> Result<(Converted, String), CliError> {
    // A wire gauge is a number of a series; its area is a value of another kind.
    let area = given.limits().nominal().and_then(|gauge| gauge.wire_area());
    let given = &match area.filter(|area| area.kind() == unit.kind()) {
        Some(area) => Spec::from(area),
        None => given.clone(),
    };
    let limits = given.limits();
    let Some((text, rounded)) = given.text_in(unit).zip(limits.rounded_in(unit)) else {
        let message = format!(
            "{} is a {}, and `{}` is a unit of {}",
            given.text(),
            limits.kind().name(),
            unit.symbol(),
            unit.kind().name()
        );
        return Err(CliError::new(message));
    };
    let in_unit = |value: Option<Quantity>| value.and_then(|value| value.in_unit(unit));
    let fraction = |value: Option<Quantity>| {
        let value = in_unit(value)?;
        Some(format!(
            "{}/{}",
            value.value().numer(),
            value.value().denom()
        ))
    };
    let unrounded = in_unit(limits.nominal());
    let line = match (&unrounded, rounded.nominal()) {
        (Some(unrounded), Some(rounded)) if unrounded.value() != rounded.value() => {
            let unrounded = with_six_decimals(unrounded.value(), unit);
            format!("= {text}   (nominal {unrounded} before rounding)")
        }
        _ => format!("= {text}"),
    };
    let printed = |bound: Option<Quantity>| bound.as_ref().map(printed_number);
    let answer = Converted {
        unit: unit.symbol(),
        text,
        nominal: unrounded.map(|nominal| plain_number(nominal.value())),
        lower: printed(rounded.lower()),
        upper: printed(rounded.upper()),
        exact: Exact {
            nominal: fraction(limits.nominal()),
            lower: fraction(limits.lower()),
            upper: fraction(limits.upper()),
        },
    };
    Ok((answer, line))
}
