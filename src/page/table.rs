//! Tables.

use super::{LinkTarget, TextRun, Value};
use serde::Serialize;

/// A table.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Table {
    /// Names the table for a screen reader; the section's title says it in print.
    pub(crate) caption: String,
    /// The columns.
    pub(crate) columns: Vec<Column>,
    /// The rows, each with as many cells as there are columns.
    pub(crate) rows: Vec<Vec<Cell>>,
}

/// A table's column.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Column {
    /// Its heading.
    pub(crate) title: String,
    /// Its share of the width against the other columns' shares.
    pub(crate) share: u8,
}

/// A table's cell.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "cell", rename_all = "kebab-case")]
pub(crate) enum Cell {
    /// Text.
    Text {
        /// Its runs; none for an empty cell.
        runs: Vec<TextRun>,
    },
    /// Names its row; a row header.
    Name {
        /// The name.
        text: String,
        /// What the row is about, where that is looked up; nothing that is printed.
        #[serde(skip)]
        subject: Option<RowSubject>,
    },
    /// Names its row, and can be linked to.
    Place {
        /// The name.
        text: String,
        /// What it is the place of.
        place: LinkTarget,
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

/// What a row is about.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) enum RowSubject {
    /// A part of the machine, by its id.
    Part(String),
    /// A cause in a fault table, by its number.
    Cause(u32),
}

impl Cell {
    /// A cell that names its row.
    pub(crate) fn name(text: impl Into<String>) -> Cell {
        Cell::Name {
            text: text.into(),
            subject: None,
        }
    }

    /// A cell that names its row by one of the machine's parts.
    pub(crate) fn part(text: impl Into<String>, part: &str) -> Cell {
        Cell::Name {
            text: text.into(),
            subject: Some(RowSubject::Part(part.to_owned())),
        }
    }

    /// A cell of plain text.
    pub(crate) fn text(text: impl Into<String>) -> Cell {
        Cell::Text {
            runs: vec![TextRun::text(text)],
        }
    }
}
