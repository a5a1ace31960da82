//! Renders findings as text or data. Each format has its own file.
//!
//! In: findings and their tree. Out: text for a terminal, or data for JSON. It never prints; the caller
//! does.

mod json;
mod terminal;

pub use json::{EditEntry, FindingEntry, Location, entries};
pub use terminal::terminal;
pub(crate) use terminal::{error_without_rule, terminal_worst};
