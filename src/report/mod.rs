//! Findings become text: one file a format.
//!
//! Comes in: findings and the tree they are about. Goes out: text. It prints
//! nothing itself: where the text goes, and in what colours, is the caller's.

mod terminal;

pub use terminal::terminal;
