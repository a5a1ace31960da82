//! Whether a tool is accurate enough for limits.

use super::figures::{ceiling, cut, decimals_for, floor, half_width, whole};
use crate::quantity::{Limits, Quantity, Rational, Unit};
use std::fmt;

/// The result of comparing a tool with limits, from best to worst.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AdequacyLevel {
    /// The limits are at least four times the tool's error, or have no width to compare.
    Ample,
    /// Less than four times: good enough for ordinary work within the window.
    Close,
    /// Less than once, or no value is safe: the tool cannot distinguish good from bad.
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
    /// What may be set or read so that the true value is within the limits for any error of the tool:
    /// the guard band is the whole error. `None` if nothing is left, or if the limits have no bound.
    pub window: Option<Window>,
}

/// The least and the greatest value that may be set or read, rounded inwards.
///
/// At least one of the two is present. With both, the least is not above the greatest, and both are in
/// one unit. [`Display`](fmt::Display) gives an English text: `8.4 N·m to 9.6 N·m`, `at least 8.4 N·m`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// `None` if there is no lower limit.
    pub least: Option<Quantity>,
    /// `None` if there is no upper limit.
    pub most: Option<Quantity>,
}

impl Window {
    /// The window between two exact bounds, to a hundredth of its width or finer; with one bound, to
    /// four significant figures. `None` if there is no bound, or if no value is left.
    pub(super) fn inward(
        least: Option<&Rational>,
        most: Option<&Rational>,
        unit: Unit,
    ) -> Option<Self> {
        let decimals = match (least, most) {
            (Some(least), Some(most)) if least < most => decimals_for(&(most - least), 3),
            (_, Some(bound)) | (Some(bound), None) => decimals_for(bound, 4),
            (None, None) => return None,
        };
        let exact = |bound: Rational| Quantity::new(bound, unit, decimals);
        Self {
            least: least.map(|least| exact(ceiling(least, decimals))),
            most: most.map(|most| exact(floor(most, decimals))),
        }
        .if_not_empty()
    }

    pub(super) fn if_not_empty(self) -> Option<Self> {
        match (&self.least, &self.most) {
            (Some(least), Some(most)) if least.value() > most.value() => None,
            (None, None) => None,
            _ => Some(self),
        }
    }
}

impl fmt::Display for Window {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.least, &self.most) {
            (Some(least), Some(most)) if least == most => write!(out, "{least}"),
            (Some(least), Some(most)) => write!(out, "{least} to {most}"),
            (Some(least), None) => write!(out, "at least {least}"),
            (None, Some(most)) => write!(out, "at most {most}"),
            (None, None) => Ok(()),
        }
    }
}

/// Compares a tool with limits. `error` is the tool's error in their middle, in their unit, and `window`
/// what may be set or read.
pub(super) fn compare(limits: &Limits, error: &Rational, window: Option<Window>) -> Adequacy {
    let has_bound = limits.lower().is_some() || limits.upper().is_some();
    let ratio = half_width(limits)
        .filter(|_| *error > whole(0))
        .map(|half| half / error);
    let level = match &ratio {
        _ if has_bound && window.is_none() => AdequacyLevel::TooCoarse,
        Some(ratio) if *ratio < whole(1) => AdequacyLevel::TooCoarse,
        Some(ratio) if *ratio < whole(4) => AdequacyLevel::Close,
        _ => AdequacyLevel::Ample,
    };
    Adequacy {
        level,
        ratio: ratio.map(|ratio| Quantity::new(cut(&ratio, 1), Unit::TO_ONE, 1)),
        window,
    }
}
