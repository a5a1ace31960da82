//! A value at a place in running text.

use super::draft::Draft;
use super::error::Error;
use super::gallons::Gallons;
use super::grammar::{limits_at, value};
use super::limits::Limits;
use super::scan::Scanner;

/// Parses limits at byte `at` of running text and returns them with the byte where they end.
///
/// If the text after a value does not continue as limits, the value alone is taken.
///
/// # Errors
///
/// `None` if there is no value. An error if there is one that is refused, with the byte where it ends.
pub(super) fn in_prose(
    text: &str,
    at: usize,
    gallons: Gallons,
) -> Result<(Limits, usize), Option<(Error, usize)>> {
    let end = |scanner: &Scanner<'_>| {
        let end = text[..scanner.at()].trim_end().len();
        // A number followed directly by a letter is part of a word.
        (!text[end..].starts_with(char::is_alphanumeric)).then_some(end)
    };
    let mut scanner = Scanner::in_prose(text, at, gallons);
    match limits_at(&mut scanner) {
        Ok(limits) => {
            if let Some(end) = end(&scanner) {
                return Ok((limits, end));
            }
        }
        // Most numbers have no unit. Then the value alone has none either.
        Err(error) if error.is_missing_unit() => return Err(None),
        Err(error) if error.is_of_a_value() => {
            return Err(end(&scanner).map(|end| (error, end)));
        }
        Err(_) => {}
    }
    let mut scanner = Scanner::in_prose(text, at, gallons);
    let nominal = value(&mut scanner).map_err(|_| None::<(Error, usize)>)?;
    nominal.unit().ok_or(None)?;
    let limits = match Draft::Nominal(nominal).settle(&scanner, None) {
        Ok(limits) => limits,
        Err(error) if error.is_of_a_value() => {
            return Err(end(&scanner).map(|end| (error, end)));
        }
        Err(_) => return Err(None),
    };
    Ok((limits, end(&scanner).ok_or(None)?))
}
