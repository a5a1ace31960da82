//! Findings become text or data: one file a format.
//!
//! Comes in: findings and the tree they are about. Goes out: text, or data to
//! be written as JSON. It prints nothing itself: where it goes, and in what
//! colours, is the caller's.

mod json;
mod terminal;

pub use json::{Entry, Place, entries};
pub use terminal::{terminal, trouble};
