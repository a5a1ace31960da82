//! Shared by the commands that calculate: parsing of values from the command line, and printing of
//! answers as text or JSON.

use super::console::print;
use super::exit::CliError;
use crate::quantity::{Gallons, Kind, Limits, PrintPart, Quantity, Rational, Spec, Unit};
use crate::tree::Memory;
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(super) struct AnswerArguments {
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

impl AnswerArguments {
    /// Prints the answer as JSON if the user asked for it, otherwise prints the lines.
    pub(super) fn print<T: Serialize>(&self, answer: &T, lines: &[String]) {
        if self.json {
            // Serialisation can't fail: an answer is plain data with text keys.
            let text = serde_json::to_string_pretty(answer).unwrap_or_default();
            print(&format!("{text}\n"));
        } else {
            print(&format!("{}\n", lines.join("\n")));
        }
    }
}

/// Which gallon is meant, and which are printed.
#[derive(Debug, Args)]
pub(super) struct GallonsArguments {
    /// What `gal`, `qt`, `pt` and `fl oz` mean. By default as in the `shop.toml` of the sources folder
    #[arg(long, value_name = "SYSTEM", value_enum)]
    gallons: Option<GallonSystem>,

    /// Sources folder whose `shop.toml` says it
    #[arg(long, value_name = "FOLDER", default_value = "procedures")]
    shop: PathBuf,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum GallonSystem {
    /// The US gallon, 3.785 L
    Us,
    /// The imperial gallon, 4.546 L
    Imperial,
}

/// What a gallon is in an answer.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct GallonsUsed {
    /// The gallon that is meant.
    pub(super) meant: Gallons,
    /// Whether both systems are printed.
    pub(super) both: bool,
}

impl GallonsArguments {
    pub(super) fn used(&self) -> GallonsUsed {
        match self.gallons {
            Some(GallonSystem::Us) => GallonsUsed {
                meant: Gallons::Us,
                both: false,
            },
            Some(GallonSystem::Imperial) => GallonsUsed {
                meant: Gallons::Imperial,
                both: false,
            },
            None => self.of_shop(),
        }
    }

    /// As the shop says. Nothing is stated if there is no such file.
    fn of_shop(&self) -> GallonsUsed {
        let name = "shop.toml";
        let Ok(bytes) = std::fs::read(self.shop.join(name)) else {
            return GallonsUsed::default();
        };
        let shop = crate::read(&Memory::new([(name, bytes)])).shop;
        GallonsUsed {
            meant: shop.gallons,
            both: shop.units.has_both_gallons(),
        }
    }
}

impl GallonsUsed {
    /// Whether a unit is one of the system that is not used. Units without a system are always used.
    pub(super) fn leaves_out(self, unit: Unit) -> bool {
        let other = match self.meant {
            Gallons::Imperial => "US ",
            Gallons::Us | Gallons::Unstated => "imp ",
        };
        !self.both && unit.symbol().starts_with(other)
    }
}

pub(super) fn limits(text: &str) -> Result<Limits, CliError> {
    Limits::parse(text).map_err(|error| with_text(text, &error))
}

/// Parses limits, for some torques with an angle to turn.
pub(super) fn spec(text: &str, gallons: Gallons) -> Result<Spec, CliError> {
    Spec::parse_with(text, gallons).map_err(|error| with_text(text, &error))
}

/// Parses a single value and checks its kind.
pub(super) fn quantity(text: &str, kind: Kind) -> Result<Quantity, CliError> {
    quantity_with(text, kind, Gallons::Unstated)
}

/// As [`quantity`], with the gallon that is meant.
pub(super) fn quantity_with(
    text: &str,
    kind: Kind,
    gallons: Gallons,
) -> Result<Quantity, CliError> {
    let value = Quantity::parse_with(text, gallons).map_err(|error| with_text(text, &error))?;
    if value.kind() == kind {
        Ok(value)
    } else {
        let message = format!(
            "expected a {}, found the {} `{text}`",
            kind.name(),
            value.kind().name()
        );
        Err(CliError::new(message))
    }
}

pub(super) fn unit(text: &str, gallons: Gallons) -> Result<Unit, CliError> {
    Unit::parse_with(text, gallons).map_err(|error| with_text(text, &error))
}

fn with_text(text: &str, error: &crate::quantity::Error) -> CliError {
    let help = error.help().map(|help| {
        if help.ends_with("`shop.toml`") {
            format!("{help}, or here with `--gallons`")
        } else {
            help
        }
    });
    CliError {
        help,
        ..CliError::new(format!("`{text}`: {error}"))
    }
}

/// A number for programs: ASCII, at most six decimals.
pub(super) fn plain_number(value: &Rational) -> String {
    let text = with_six_decimals(value, Unit::TO_ONE);
    let number: String = text
        .chars()
        .take_while(|letter| *letter != ':')
        .filter(|letter| !letter.is_whitespace())
        .map(|letter| if letter == '\u{2212}' { '-' } else { letter })
        .collect();
    number
}

/// The digits of a value for programs, as they are printed.
pub(super) fn printed_number(value: &Quantity) -> String {
    let number = value.parts().into_iter().find_map(|part| match part {
        PrintPart::Number(number) => Some(number.text('.')),
        _ => None,
    });
    let number = number.unwrap_or_default();
    let digits = number.chars().filter(|letter| !letter.is_whitespace());
    digits
        .map(|letter| if letter == '\u{2212}' { '-' } else { letter })
        .collect()
}

/// A value with its unit and at most six decimals, without trailing zeros.
pub(super) fn with_six_decimals(value: &Rational, unit: Unit) -> String {
    let text = Quantity::new(value.clone(), unit, 6).text();
    let end = text
        .find(|letter: char| !(letter.is_ascii_digit() || ".\u{2212}\u{202f}".contains(letter)))
        .unwrap_or(text.len());
    let (number, rest) = text.split_at(end);
    let number = if number.contains('.') {
        number
            .trim_end_matches(['0', '\u{202f}'])
            .trim_end_matches('.')
    } else {
        number
    };
    format!("{number}{rest}")
}
