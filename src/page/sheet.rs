//! A sheet as a whole: its kind, its head and its body.

use super::{Block, PageId, SheetKind};
use serde::Serialize;

/// One sheet: a head and what is below it.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct Sheet {
    /// Which page of the output it is.
    pub page: PageId,
    /// Which kind it is; the medium lays each kind out in its own way.
    pub kind: SheetKind,
    /// What the head and the foot of every page say.
    pub head: SheetHead,
    /// The body, in reading order.
    pub blocks: Vec<Block>,
}

/// What identifies a sheet, printed in its head and in every footer.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub struct SheetHead {
    /// The kind as a title says it: "Shop sheet".
    pub kind_title: String,
    /// The procedure's title, or what else the sheet is about.
    pub title: String,
    /// The machine's name; none on a sheet about all of them.
    pub machine: Option<String>,
    /// The shop's name.
    pub shop: String,
    /// The document's language, a BCP 47 tag such as `en`.
    pub language: String,
    /// The paper it is set for.
    pub paper: Paper,
    /// What every page must say of its data, such as "Invented data for demonstration".
    pub data_note: Option<String>,
    /// The procedure's revision number; none on a sheet that is drawn from many files.
    pub revision: Option<u32>,
    /// The day of that revision, `YYYY-MM-DD`.
    pub revised: Option<String>,
    /// A short mark that changes when anything on the sheet does: two papers
    /// with the same mark say the same.
    pub mark: String,
    /// Short facts: engine, time allowed, interval.
    pub facts: Vec<Fact>,
    /// What the person at the bench writes in at the top: job number, date.
    pub entries: Vec<String>,
}

/// The paper sizes a shop can choose from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
pub enum Paper {
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
pub struct Fact {
    /// "Time allowed".
    pub label: String,
    /// "35 min".
    pub text: String,
}
