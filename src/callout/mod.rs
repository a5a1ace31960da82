//! Where the numbers of a figure stand, and what of the figure is shown.
//!
//! In: a drawing or photograph, and the places of numbered parts in it. Out: the area that is shown, and for each part a
//! circle with its number and a line to it.
//!
//! The sizes in print are our own: a number is read at arm's length (common practice, no source).

mod layout;

pub(crate) use layout::{Layout, Numbered, PrintSpace, crop, whole};
