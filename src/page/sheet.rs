//! A sheet as a whole: its kind, its head and its body.

use super::{Block, PageId, SheetKind};
use serde::Serialize;

/// One sheet: a head and what is below it.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Sheet {
    /// Which page of the output it is.
    pub(crate) page: PageId,
    /// Which kind it is; the medium lays each kind out in its own way.
    pub(crate) kind: SheetKind,
    /// What the head and the foot of every page say.
    pub(crate) head: SheetHead,
    /// The body, in reading order.
    pub(crate) blocks: Vec<Block>,
}

/// What identifies a sheet, printed in its head and in every footer.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetHead {
    /// The kind as a title says it: "Shop sheet".
    pub(crate) kind_title: String,
    /// The procedure's title, or what else the sheet is about.
    pub(crate) title: String,
    /// The machine's name; none on a sheet about all of them.
    pub(crate) machine: Option<String>,
    /// The shop's name.
    pub(crate) shop: String,
    /// The document's language, a BCP 47 tag such as `en`.
    pub(crate) language: String,
    /// The paper it is set for.
    pub(crate) paper: Paper,
    /// What every page must say of its data, such as "Invented data for demonstration".
    pub(crate) data_note: Option<String>,
    /// The procedure's revision number; none on a sheet that is drawn from many files.
    pub(crate) revision: Option<u32>,
    /// The day of that revision, `YYYY-MM-DD`.
    pub(crate) revised: Option<String>,
    /// A short mark that changes when anything on the sheet does: two papers
    /// with the same mark say the same.
    pub(crate) mark: String,
    /// Short facts: engine, time allowed, interval.
    pub(crate) facts: Vec<Fact>,
    /// What the person at the bench writes in at the top: job number, date.
    pub(crate) entries: Vec<String>,
}

/// The paper sizes a shop can choose from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub(crate) enum Paper {
    /// ISO 216 A4, 210 mm × 297 mm.
    #[serde(rename = "a4")]
    A4,
    /// ANSI Letter, 8.5 in × 11 in.
    #[serde(rename = "us-letter")]
    Letter,
}

/// A label and what it says.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Fact {
    /// "Time allowed".
    pub(crate) label: String,
    /// "35 min".
    pub(crate) text: String,
}
