//! What the search for values in running text gives.

use std::ops::Range;

use super::error::Error;
use super::limits::Limits;
use super::pair::Paired;

/// What [`find()`](super::find()) finds in running text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ValuesInText {
    /// The values, in order.
    pub found: Vec<Found>,
    /// Text that is certainly a value but is refused: it can be read in two ways (`1.250 rpm`,
    /// `20/25 psi`, `2 gal`), or its kind can't have it (`-5 mm`).
    pub refused: Vec<Refused>,
}

/// A value, with or without limits, that [`find()`](super::find()) found in running text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The bytes of the value in the text, without those of [`paired`](Self::paired).
    pub range: Range<usize>,
    /// The value. A value without limits is a nominal.
    pub limits: Limits,
    /// The value in other units, where it was typed beside it.
    pub paired: Vec<Paired>,
}

/// A value in running text that is refused.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// The bytes that are wrong.
    pub range: Range<usize>,
    /// Why; its own range is within the text that was searched.
    pub error: Error,
}
