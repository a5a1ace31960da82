//! `benchleaf mix`

use super::bench::{AnswerArguments, limits, plain_number, quantity};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Kind, Unit};
use crate::trade::oil_for;
use clap::Args;
use serde::Serialize;

/// Calculate how much oil to add to petrol
///
/// The ratio is petrol to oil by volume, as given for two-stroke engines.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf mix 50:1 '5 L'
  benchleaf mix 40:1 '1 US gal' '2.5 US gal'")]
pub(super) struct Arguments {
    /// The ratio of petrol to oil, such as `50:1`
    #[arg(value_name = "RATIO")]
    ratio: String,

    /// The volume of petrol, such as `5 L` or `1 US gal`; can be repeated
    #[arg(value_name = "PETROL", required = true)]
    petrol: Vec<String>,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
struct Answer {
    ratio: String,
    cans: Vec<Can>,
}

#[derive(Serialize)]
struct Can {
    petrol: String,
    oil: String,
    oil_millilitres: String,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let ratio = limits(&arguments.ratio)?;
    let expected = "expected a ratio of petrol to oil such as `50:1`";
    let Some(parts) = ratio.nominal().filter(|_| ratio.kind() == Kind::Ratio) else {
        return Err(CliError::new(format!("`{}`: {expected}", arguments.ratio)));
    };
    let mut lines = Vec::new();
    let mut cans = Vec::new();
    for text in &arguments.petrol {
        let petrol = quantity(text, Kind::Volume)?;
        let Some(oil) = oil_for(&petrol, &parts) else {
            return Err(CliError::new(format!("`{}`: {expected}", arguments.ratio)));
        };
        let is_us = petrol.unit().symbol().starts_with("US");
        let ounces = oil.in_unit(Unit::US_FLUID_OUNCE).filter(|_| is_us);
        let ounces = ounces.map(|ounces| {
            crate::quantity::Quantity::new(ounces.value().clone(), ounces.unit(), 1).text()
        });
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
    let answer = Answer {
        ratio: ratio.text(),
        cans,
    };
    arguments.answer.print(&answer, &lines);
    Ok(ExitStatus::Success)
}
