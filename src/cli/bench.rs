//! Shared by the commands that calculate: parsing of values from the command line, and printing of
//! answers as text or JSON.

use super::console::print;
use super::exit::CliError;
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};
use clap::Args;
use serde::Serialize;

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

pub(super) fn limits(text: &str) -> Result<Limits, CliError> {
    Limits::parse(text).map_err(|error| with_text(text, &error))
}

/// Parses a single value and checks its kind.
pub(super) fn quantity(text: &str, kind: Kind) -> Result<Quantity, CliError> {
    let value = Quantity::parse(text).map_err(|error| with_text(text, &error))?;
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

pub(super) fn unit(text: &str) -> Result<Unit, CliError> {
    Unit::parse(text).map_err(|error| with_text(text, &error))
}

fn with_text(text: &str, error: &crate::quantity::Error) -> CliError {
    CliError {
        message: format!("`{text}`: {error}"),
        help: error.help(),
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
