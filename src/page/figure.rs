//! Figures.

use super::FigureId;
use serde::Serialize;

/// A drawing or photograph.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Figure {
    /// Which one of the shop's tree.
    pub(crate) id: FigureId,
    /// Eight hexadecimal digits that change when the drawing does.
    pub(crate) content: String,
    /// Its number on the sheet, from 1.
    pub(crate) number: u32,
    /// What it shows, for those who can't see it.
    pub(crate) alt: String,
    /// Printed below it.
    pub(crate) caption: Option<String>,
}
