//! What the commands at the bench share: values from the command line, answers
//! for people and for programs.

use super::{Refusal, say};
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
    /// Prints an answer: its lines for people, the whole of it for programs.
    pub(super) fn give<T: Serialize>(&self, answer: &T, lines: &[String]) {
        if self.json {
            // An answer is plain data with text keys, which always serialises.
            let text = serde_json::to_string_pretty(answer).unwrap_or_default();
            say(&format!("{text}\n"));
        } else {
            say(&format!("{}\n", lines.join("\n")));
        }
    }
}

/// Reads limits, saying what was expected where the text isn't any.
pub(super) fn limits(text: &str) -> Result<Limits, Refusal> {
    Limits::parse(text).map_err(|error| refusal(text, &error))
}

/// Reads a single value of a kind.
pub(super) fn quantity(text: &str, kind: Kind) -> Result<Quantity, Refusal> {
    let value = Quantity::parse(text).map_err(|error| refusal(text, &error))?;
    if value.kind() == kind {
        Ok(value)
    } else {
        let message = format!(
            "expected a {}, found the {} `{text}`",
            kind.name(),
            value.kind().name()
        );
        Err(Refusal::new(message))
    }
}

/// Reads a unit.
pub(super) fn unit(text: &str) -> Result<Unit, Refusal> {
    Unit::parse(text).map_err(|error| refusal(text, &error))
}

/// What the trade's arithmetic said, as a refusal.
pub(super) fn trade(error: &crate::trade::Error) -> Refusal {
    let refusal = Refusal::new(error.to_string());
    match error.help() {
        Some(help) => refusal.help(help),
        None => refusal,
    }
}

fn refusal(text: &str, error: &crate::quantity::Error) -> Refusal {
    let refusal = Refusal::new(format!("`{text}`: {error}"));
    match error.help() {
        Some(help) => refusal.help(help),
        None => refusal,
    }
}

/// A number to six decimals, without trailing zeros, a plain point and minus, for programs.
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

/// A value to six decimals, without trailing zeros.
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
