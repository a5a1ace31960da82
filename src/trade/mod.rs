//! The trade's arithmetic: pure functions over quantities, with their sources.
//!
//! Comes in: quantities. Goes out: quantities. It knows nothing of shops.

mod mix;

pub use mix::oil_for;
