//! `benchleaf mix`

use super::bench::{
    AnswerArguments, GallonsArguments, GallonsUsed, limits, plain_number, quantity_with,
};
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
  benchleaf mix 40:1 '1 gal' --gallons imperial
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
    gallons: GallonsArguments,

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
    /// In fluid ounces, where cups have them.
    oil_ounces: Vec<String>,
    oil_millilitres: String,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let ratio = limits(&arguments.ratio)?;
    let parts = mix_ratio(&ratio)?;
    let gallons = arguments.gallons.used();
    let mut lines = Vec::new();
    let mut cans = Vec::new();
    for text in &arguments.petrol {
        let petrol = quantity_with(text, Kind::Volume, gallons.meant)?;
        let Some(oil) = oil_for(&petrol, &parts) else {
            return Err(CliError::new(format!("there is no oil for `{text}`")));
        };
        let ounces = in_ounces(&oil, petrol.unit(), gallons);
        let bracket = match ounces.join(", ") {
            ounces if ounces.is_empty() => ounces,
            ounces => format!(" ({ounces})"),
        };
        lines.push(format!(
            "{} of oil{bracket} for {} of petrol",
            oil.text(),
            petrol.text()
        ));
        cans.push(Can {
            petrol: petrol.text(),
            oil: oil.text(),
            oil_ounces: ounces,
            oil_millilitres: plain_number(oil.value()),
        });
    }
    let mut fills = Vec::new();
    for text in &arguments.fill {
        let capacity = quantity_with(text, Kind::Volume, gallons.meant)?;
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

/// Oil in the fluid ounces of the petrol's system, or of both if the shop prints both. Measuring cups have tenths.
fn in_ounces(oil: &Quantity, petrol: Unit, gallons: GallonsUsed) -> Vec<String> {
    let cups = [
        (Unit::US_FLUID_OUNCE, "US "),
        (Unit::IMPERIAL_FLUID_OUNCE, "imp "),
    ];
    let cups = cups
        .into_iter()
        .filter(|(_, system)| gallons.both || petrol.symbol().starts_with(system));
    let ounces = cups.filter_map(|(cup, _)| {
        let ounces = oil.in_unit(cup)?;
        Some(Quantity::new(ounces.value().clone(), cup, 1).text())
    });
    ounces.collect()
}
