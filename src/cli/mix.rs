//! `benchleaf mix`

use super::bench::{AnswerArguments, limits, plain_number, quantity};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Kind, Quantity, Unit};
use crate::trade::{fill_for, mix_ratio, oil_for};
use clap::Args;
use serde::Serialize;

/// Calculate how much oil to add to petrol, or how much of both fills a tank
///
/// The ratio is petrol to oil by volume, as given for two-stroke engines. With `--fill`, petrol and
/// oil together are not more than the capacity; the oil is rounded up, so that the mixture is never
/// leaner than the ratio.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf mix 50:1 '5 L'
  benchleaf mix 40:1 '1 US gal' '2.5 US gal'
  benchleaf mix 50:1 --fill '0.62 L'")]
pub(super) struct Arguments {
    /// The ratio of petrol to oil, such as `50:1`
    #[arg(value_name = "RATIO")]
    ratio: String,

    /// The volume of petrol, such as `5 L` or `1 US gal`; can be repeated
    #[arg(value_name = "PETROL", required_unless_present = "fill")]
    petrol: Vec<String>,

    /// Capacity of a tank or can to fill with the mixture; can be repeated
    #[arg(long, value_name = "CAPACITY")]
    fill: Vec<String>,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
struct Answer {
    ratio: String,
    cans: Vec<Can>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fills: Vec<Filled>,
}

/// A tank that is filled to the brim.
#[derive(Serialize)]
struct Filled {
    capacity: String,
    petrol: String,
    oil: String,
    petrol_millilitres: String,
    oil_millilitres: String,
}

#[derive(Serialize)]
struct Can {
    petrol: String,
    oil: String,
    oil_millilitres: String,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let ratio = limits(&arguments.ratio)?;
    let parts = mix_ratio(&ratio)?;
    let mut lines = Vec::new();
    let mut cans = Vec::new();
    for text in &arguments.petrol {
        let petrol = quantity(text, Kind::Volume)?;
        let Some(oil) = oil_for(&petrol, &parts) else {
            return Err(CliError::new(format!("there is no oil for `{text}`")));
        };
        let is_us = petrol.unit().symbol().starts_with("US");
        let ounces = oil.in_unit(Unit::US_FLUID_OUNCE).filter(|_| is_us);
        let ounces =
            ounces.map(|ounces| Quantity::new(ounces.value().clone(), ounces.unit(), 1).text());
        let in_ounces = ounces
            .map(|ounces| format!(" ({ounces})"))
            .unwrap_or_default();
        lines.push(format!(
            "{} of oil{in_ounces} for {} of petrol",
            oil.text(),
            petrol.text()
        ));
        cans.push(Can {
            petrol: petrol.text(),
            oil: oil.text(),
            oil_millilitres: plain_number(oil.value()),
        });
    }
    let mut fills = Vec::new();
    for text in &arguments.fill {
        let capacity = quantity(text, Kind::Volume)?;
        let Some(fill) = fill_for(&capacity, &parts) else {
            let message = format!("`{text}` is too small to measure petrol and oil for it");
            return Err(CliError::new(message));
        };
        let (petrol, oil) = (fill.petrol.text(), fill.oil.text());
        let capacity = capacity.text();
        lines.push(format!(
            "{petrol} of petrol and {oil} of oil fill {capacity}"
        ));
        let millilitres = |part: &Quantity| {
            let part = part.in_unit(Unit::MILLILITRE);
            part.map(|part| plain_number(part.value()))
                .unwrap_or_default()
        };
        fills.push(Filled {
            capacity,
            petrol_millilitres: millilitres(&fill.petrol),
            oil_millilitres: millilitres(&fill.oil),
            petrol,
            oil,
        });
    }
    let answer = Answer {
        ratio: ratio.text(),
        cans,
        fills,
    };
    arguments.answer.print(&answer, &lines);
    Ok(ExitStatus::Success)
}
