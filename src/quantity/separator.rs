//! Whether a point in a number can be a separator of thousands.
//!
//! In half of Europe `1.250 rpm` means 1250 rpm. A number with one to three digits before its point
//! and three after it is refused if the other reading is likely: by its unit, in which nobody reads
//! thousandths, or by the value beside it. Both readings are written plainly with other digits.

use std::ops::Range;

use super::error::{Error, Quoted, Reason};
use super::rational::Rational;
use super::scan::Scanner;
use super::scan_number::plainly_decimal;
use super::unit::Unit;

/// How the values of limits are related, to judge whether a reading of them is likely.
pub(super) enum Relation {
    Alone,
    /// A nominal and its tolerance.
    Tolerance,
    /// A lower and an upper bound, for the last two values.
    Bounds,
}

/// A typed number, for [`check`].
pub(super) struct Typed {
    pub(super) at: Range<usize>,
    /// The number in the unit that is common to all.
    pub(super) size: Rational,
    pub(super) unit: Unit,
    pub(super) may_be_thousands: bool,
    /// Whether it has a decimal point that can't be a separator.
    pub(super) is_decimal: bool,
}

/// Checks the numbers of limits.
///
/// # Errors
///
/// If a point is more likely, or as likely, a separator of thousands.
pub(super) fn check(
    scanner: &Scanner<'_>,
    values: &[Typed],
    relation: &Relation,
) -> Result<(), Error> {
    let Some(doubtful) = values.iter().find(|value| value.may_be_thousands) else {
        return Ok(());
    };
    // Whoever writes `0.05` beside it uses the point for decimals.
    if values.iter().any(|value| value.is_decimal) {
        return Ok(());
    }
    let is_strange =
        |value: &&Typed| value.may_be_thousands && !value.unit.is_read_to_thousandths();
    if let Some(strange) = values.iter().find(is_strange) {
        return Err(ambiguous(scanner, strange));
    }
    let typed: Vec<Rational> = values.iter().map(|value| value.size.clone()).collect();
    let thousands: Vec<Rational> = values
        .iter()
        .map(|value| {
            let times = if value.may_be_thousands { 1000 } else { 1 };
            &value.size * Rational::small(times, 1)
        })
        .collect();
    if !is_likely(&typed, relation) && is_likely(&thousands, relation) {
        return Err(ambiguous(scanner, doubtful));
    }
    Ok(())
}

/// Whether values stand in a relation that people write: a tolerance below the nominal, the greater
/// bound last and within twenty times the lesser.
fn is_likely(sizes: &[Rational], relation: &Relation) -> bool {
    match (relation, sizes) {
        (Relation::Tolerance, [nominal, tolerances @ ..]) => {
            let nominal = nominal.abs();
            tolerances.iter().all(|tolerance| {
                *tolerance < nominal
                    && (tolerance.is_zero() || tolerance * Rational::small(1000, 1) >= nominal)
            })
        }
        (Relation::Bounds, [first @ .., lower, upper]) => {
            lower < upper
                && (!lower.is_positive() || *upper <= lower * Rational::small(20, 1))
                && first
                    .iter()
                    .all(|nominal| lower <= nominal && nominal <= upper)
        }
        _ => true,
    }
}

fn ambiguous(scanner: &Scanner<'_>, value: &Typed) -> Error {
    let number = &scanner.text[value.at.clone()];
    let reason = Reason::AmbiguousPoint {
        found: Quoted::new(number),
        thousands: number.replace('.', ""),
        decimal: plainly_decimal(number),
        unit: value.unit,
    };
    Error::new(reason, value.at.clone())
}
