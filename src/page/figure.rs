use super::{FigureId, Marked};
use serde::Serialize;

/// A drawing or photograph.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Figure {
    pub(crate) id: FigureId,
    /// Eight hexadecimal digits that change with the file's content.
    pub(crate) content: String,
    /// The least width in print, in tenths of a millimetre, at which its labels can be read. `None` if
    /// it has no labels.
    pub(crate) least_width: Option<u32>,
    /// The width and height of its image on a page, which keep its space there before it is loaded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) size: Option<[u32; 2]>,
    /// Its number on the sheet, from 1. 0 if no whole figure is on the sheet.
    pub(crate) number: u32,
    /// Whether the same drawing is above it on the sheet, with the same number. Links then lead to the first one.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub(crate) again: bool,
    /// Whether it is left out on paper that would take more pages with it.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub(crate) optional: bool,
    /// The text alternative.
    pub(crate) alt: String,
    pub(crate) caption: Option<String>,
    /// What is shown of it, if its parts have numbers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) marked: Option<Box<Marked>>,
}

/// The sheet that a figure is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FigureSize {
    /// A shop sheet or a manual.
    Reading,
    /// A checklist, where figures are smaller.
    List,
}
