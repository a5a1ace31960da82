//! Sheets and their heads.

use super::{Block, PageId, SheetKind};
use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Sheet {
    pub(crate) page: PageId,
    pub(crate) kind: SheetKind,
    /// Printed in the head of the sheet and at the foot of every page.
    pub(crate) head: SheetHead,
    pub(crate) blocks: Vec<Block>,
}

/// Identifies a sheet.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetHead {
    /// The title of the kind: "Shop sheet".
    pub(crate) kind_title: String,
    /// The procedure's title, or the sheet's subject if it is not about one procedure.
    pub(crate) title: String,
    /// The machine's name. `None` on a sheet about several machines.
    pub(crate) machine: Option<String>,
    pub(crate) shop: String,
    /// A BCP 47 tag.
    pub(crate) language: String,
    pub(crate) paper: Paper,
    /// A notice about the data that every page must carry, such as "Invented data for
    /// demonstration".
    pub(crate) data_note: Option<String>,
    /// The procedure's revision number. `None` on a sheet that is compiled from several files.
    pub(crate) revision: Option<u32>,
    /// The date of that revision, `YYYY-MM-DD`.
    pub(crate) revised: Option<String>,
    /// The content mark, which changes with anything on the sheet: two prints with the same mark
    /// are identical in content.
    pub(crate) mark: String,
    /// Short facts: engine, time allowed, interval.
    pub(crate) facts: Vec<Fact>,
    /// The fields to fill in at the top: job number, date.
    pub(crate) entries: Vec<HeadEntry>,
}

/// A field to fill in at the top of a sheet.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub(crate) struct HeadEntry {
    /// What it is for, in every language: `job-number`.
    pub(crate) key: String,
    /// "Job number".
    pub(crate) label: String,
    /// For the serial number: which ones the sheet is for, and then those of other sheets. Empty if it is for all.
    pub(crate) serials: Vec<SerialSpan>,
}

/// The serial numbers that a machine's sheets are for.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub(crate) struct SerialSpan {
    /// The machine's name.
    pub(crate) machine: String,
    pub(crate) from: Option<String>,
    pub(crate) to: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub(crate) enum Paper {
    /// ISO 216 A4, 210 mm × 297 mm.
    #[serde(rename = "a4")]
    A4,
    /// ANSI Letter, 8.5 in × 11 in.
    #[serde(rename = "us-letter")]
    Letter,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Fact {
    /// "Time allowed".
    pub(crate) label: String,
    /// "35 min".
    pub(crate) text: String,
}
