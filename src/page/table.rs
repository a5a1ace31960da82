//! Tables.

use super::{Run, Value};
use serde::Serialize;

/// A table.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Table {
    /// Names the table for a screen reader; the section's title says it in print.
    pub caption: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with as many cells as there are columns.
    pub rows: Vec<Vec<Cell>>,
}

/// A table's column.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Column {
    /// Its heading.
    pub title: String,
    /// Its share of the width against the other columns' shares.
    pub share: u8,
}

/// A table's cell.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "cell", rename_all = "kebab-case")]
pub enum Cell {
    /// Text.
    Text {
        /// Its runs; none for an empty cell.
        runs: Vec<Run>,
    },
    /// Names its row; a row header.
    Name {
        /// The name.
        text: String,
    },
    /// Names its row, and can be linked to.
    Place {
        /// The name.
        text: String,
        /// Unique on the page.
        anchor: String,
    },
    /// A value.
    Value {
        /// The value.
        value: Value,
    },
    /// Places to tick one of.
    Choice {
        /// The places.
        options: Vec<String>,
    },
    /// The order in which fasteners around a circle are tightened.
    Pattern {
        /// The same in words.
        text: String,
        /// For each place from the top and clockwise, when its turn is, from 1.
        order: Vec<u32>,
    },
    /// A box to tick.
    Tick,
    /// Room to write.
    Blank,
}

impl Cell {
    /// A cell of plain text.
    pub fn text(text: impl Into<String>) -> Cell {
        Cell::Text {
            runs: vec![Run::text(text)],
        }
    }
}
