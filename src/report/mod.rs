//! Renders findings as text or data, one file for each format.
//!
//! In: findings and their tree. Out: text for a terminal, or data for JSON. It
//! prints nothing: the caller does.

mod json;
mod terminal;

pub use json::{FindingEntry, Location, entries};
pub use terminal::{terminal, trouble};
