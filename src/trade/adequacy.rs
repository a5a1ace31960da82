//! Whether a tool is fine enough for limits.

use super::figures::{ceiling, cut, decimals_for, floor, half_width, whole};
use crate::quantity::{Limits, Quantity, Rational, Unit};

/// How a tool does against limits, from best to worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// The limits are at least four times the tool's own error; or have no width to compare.
    Ample,
    /// Less than four times: it does for ordinary work, if the window is kept to.
    Close,
    /// Less than once: the tool can't tell good from bad.
    TooCoarse,
    /// The value is outside of what the tool can do.
    OutOfRange,
}

/// A tool's error against limits.
///
/// The ratio is of half the width of the limits to the tool's error in their middle. 4:1 is the
/// usual demand of calibration (test accuracy ratio; from memory of NCSL practice); under 1:1 the
/// tool decides nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Adequacy {
    /// How it does.
    pub level: Level,
    /// Limits to error, shown rounded down to a tenth so that it never looks better than it is;
    /// none where the limits have only one bound, or the tool no error.
    pub ratio: Option<Quantity>,
    /// The least and the most that may be set or read so that the true value is within the
    /// limits whatever the tool's error: the guard band is the whole error. Rounded inwards. None
    /// where nothing is left, or the limits have only one bound.
    pub window: Option<(Quantity, Quantity)>,
}

/// Against limits with two bounds; `error` is the tool's in their middle, `guarded` what its
/// error leaves of the limits, both in the unit of the limits.
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
        Level::TooCoarse
    } else if ratio < whole(4) {
        Level::Close
    } else {
        Level::Ample
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
