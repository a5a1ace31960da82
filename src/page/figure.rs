use super::FigureId;
use serde::Serialize;

/// A drawing or photograph.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Figure {
    pub(crate) id: FigureId,
    /// Eight hexadecimal digits that change with the file's content.
    pub(crate) content: String,
    /// Its number on the sheet, from 1.
    pub(crate) number: u32,
    /// The text alternative.
    pub(crate) alt: String,
    pub(crate) caption: Option<String>,
}
