//! Whether a tool is accurate enough for limits.

use super::figures::{ceiling, cut, decimals_for, floor, half_width, whole};
use crate::quantity::{Limits, Quantity, Rational, Unit};

/// The result of comparing a tool with limits, from best to worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AdequacyLevel {
    /// The limits are at least four times the tool's error, or have no width to compare.
    Ample,
    /// Less than four times: good enough for ordinary work within the window.
    Close,
    /// Less than once: the tool cannot distinguish good from bad.
    TooCoarse,
    /// The value is outside the range of the tool.
    OutOfRange,
}

/// A tool's error compared with limits.
///
/// The ratio is half the width of the limits divided by the tool's error in their middle. 4:1 is the
/// usual requirement of calibration (test accuracy ratio; from memory of NCSL practice). Below 1:1 a
/// reading decides nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Adequacy {
    /// The result of the comparison.
    pub level: AdequacyLevel,
    /// Limits to error, rounded down to a tenth so that it never looks better than it is. `None` if the
    /// limits have only one bound, or the tool has no error.
    pub ratio: Option<Quantity>,
    /// The least and the greatest value that may be set or read so that the true value is within the
    /// limits for any error of the tool: the guard band is the whole error. Rounded inwards. `None` if
    /// nothing is left, or if the limits have only one bound.
    pub window: Option<(Quantity, Quantity)>,
}

/// Compares a tool with limits that have two bounds. `error` is the tool's error in their middle, and
/// `guarded` gives the bounds reduced by its error, both in the unit of the limits.
pub(super) fn compare(
    limits: &Limits,
    error: &Rational,
    guarded: impl FnOnce(&Rational, &Rational) -> (Rational, Rational),
) -> Option<Adequacy> {
    let half = half_width(limits)?;
    if *error <= whole(0) {
        return None;
    }
    let ratio = &half / error;
    let level = if ratio < whole(1) {
        AdequacyLevel::TooCoarse
    } else if ratio < whole(4) {
        AdequacyLevel::Close
    } else {
        AdequacyLevel::Ample
    };
    let (lower, upper) = (limits.lower()?, limits.upper()?);
    let (least, most) = guarded(lower.value(), upper.value());
    Some(Adequacy {
        level,
        ratio: Some(Quantity::new(cut(&ratio, 1), Unit::TO_ONE, 1)),
        window: inward(&least, &most, limits.unit()),
    })
}

/// A range rounded inwards, to a hundredth of its width or finer.
fn inward(least: &Rational, most: &Rational, unit: Unit) -> Option<(Quantity, Quantity)> {
    if least > most {
        return None;
    }
    let width = most - least;
    let decimals = if width > whole(0) {
        decimals_for(&width, 3)
    } else {
        decimals_for(most, 4)
    };
    let (least, most) = (ceiling(least, decimals), floor(most, decimals));
    (least <= most).then(|| {
        (
            Quantity::new(least, unit, decimals),
            Quantity::new(most, unit, decimals),
        )
    })
}
