//! What the commands that calculate share: values from the command line, and answers as text or
//! JSON.

use super::console::print;
use super::exit::CliError;
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};
use clap::Args;
use serde::Serialize;

/// How the answer is printed.
#[derive(Debug, Args)]
pub(super) struct AnswerArguments {
    /// Answer in JSON, for programs
    #[arg(long)]
    json: bool,
}

impl AnswerArguments {
    /// Prints an answer: its lines, or all of it as JSON.
    pub(super) fn print<T: Serialize>(&self, answer: &T, lines: &[String]) {
        if self.json {
            // Plain data with text keys always serialises.
            let text = serde_json::to_string_pretty(answer).unwrap_or_default();
            print(&format!("{text}\n"));
        } else {
            print(&format!("{}\n", lines.join("\n")));
        }
    }
}

/// Parses limits.
pub(super) fn limits(text: &str) -> Result<Limits, CliError> {
    Limits::parse(text).map_err(|error| with_text(text, &error))
}

/// Parses a single value of a kind.
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

/// Parses a unit.
pub(super) fn unit(text: &str) -> Result<Unit, CliError> {
    Unit::parse(text).map_err(|error| with_text(text, &error))
}

fn with_text(text: &str, error: &crate::quantity::Error) -> CliError {
    CliError {
        message: format!("`{text}`: {error}"),
        help: error.help(),
    }
}

/// A number for programs: at most six decimals, ASCII only.
pub(super) fn plain_number(value: &Rational) -> String {
    let text = unrounded(value, Unit::TO_ONE);
    let number: String = text
        .chars()
        .take_while(|letter| *letter != ':')
        .filter(|letter| !letter.is_whitespace())
        .map(|letter| if letter == '\u{2212}' { '-' } else { letter })
        .collect();
    number
}

/// A value with at most six decimals.
pub(super) fn unrounded(value: &Rational, unit: Unit) -> String {
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
