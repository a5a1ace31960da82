//! The properties that must hold for any input. The fuzz targets and `tests/properties.rs` use them.

pub mod calculations;
pub mod mutation;
pub mod pages;
pub mod quantities;
pub mod shops;
pub mod values;
