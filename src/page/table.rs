//! Tables.

use super::{LinkTarget, TextRun, Value};
use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Table {
    /// The table's name for screen readers. In print, the section's title names the table.
    pub(crate) caption: String,
    pub(crate) columns: Vec<Column>,
    /// Each row has one cell per column.
    pub(crate) rows: Vec<Vec<Cell>>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Column {
    pub(crate) title: String,
    /// The column's share of the width, relative to the shares of the other columns.
    pub(crate) share: u8,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "cell", rename_all = "kebab-case")]
pub(crate) enum Cell {
    Text {
        /// Empty for an empty cell.
        runs: Vec<TextRun>,
    },
    /// A row header.
    Name {
        text: String,
        /// The record that the row is about, used to build an index. It is not printed.
        #[serde(skip)]
        subject: Option<RowSubject>,
    },
    /// A row header that is a link target.
    Place {
        text: String,
        /// The target that the row is.
        place: LinkTarget,
    },
    Value {
        value: Value,
    },
    /// Options, one of which is ticked.
    Choice {
        options: Vec<String>,
    },
    /// The tightening order of fasteners around a circle, as a drawing.
    Pattern {
        /// The order in words.
        text: String,
        /// For each fastener, clockwise from the top, its turn in the order, from 1.
        order: Vec<u32>,
    },
    /// A box to tick.
    Tick,
    /// Space to write.
    Blank,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) enum RowSubject {
    /// The id of a part of the machine.
    Part(String),
    /// The number of a cause in a fault table.
    Cause(u32),
}

impl Cell {
    /// A row header.
    pub(crate) fn name(text: impl Into<String>) -> Cell {
        Cell::Name {
            text: text.into(),
            subject: None,
        }
    }

    /// A row header for a row about a part.
    pub(crate) fn part(text: impl Into<String>, part: &str) -> Cell {
        Cell::Name {
            text: text.into(),
            subject: Some(RowSubject::Part(part.to_owned())),
        }
    }

    pub(crate) fn text(text: impl Into<String>) -> Cell {
        Cell::Text {
            runs: vec![TextRun::text(text)],
        }
    }
}
