//! The blocks of a body, and what is in them.

use super::{Figure, SafetyMessage, SectionId, SheetStep, Sign, Table, TextRun};
use serde::Serialize;

/// One block of a page's body.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "block", rename_all = "kebab-case")]
pub(crate) enum Block {
    /// A heading and what belongs to it. Sections nest at most two deep.
    Section(SheetSection),
    /// A paragraph.
    Text {
        /// Its runs.
        runs: Vec<TextRun>,
    },
    /// A plain list, a dot before each item.
    Bullets {
        /// The items' runs.
        items: Vec<Vec<TextRun>>,
    },
    /// A safety message that belongs to no single step.
    Safety(SafetyMessage),
    /// A table with a header row.
    Table(Table),
    /// Steps, in order.
    Steps {
        /// The steps; their numbers go on across blocks.
        steps: Vec<SheetStep>,
    },
    /// A figure that belongs to no single step.
    Figure(Figure),
    /// Standing notices: what the sheet does not replace, and the shop's own.
    Notices {
        /// Each in one paragraph.
        notices: Vec<String>,
    },
    /// What is put on or seen to before anything else: signs and a word each.
    Protection {
        /// Signs, each with its referent.
        signs: Vec<Sign>,
        /// What no sign says: moving air, a drip tray.
        notes: Vec<String>,
    },
    /// The end of a group of steps: a natural stop, where the group is signed.
    Stop(Stop),
    /// Lines to sign.
    SignOff {
        /// One for each signature.
        lines: Vec<SignLine>,
    },
    /// Room to write where the sheet was wrong.
    WrongHere {
        /// What to write: "Step or table, and what it should say".
        label: String,
    },
}

/// A heading and its blocks.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetSection {
    /// Unique on the page.
    pub(crate) id: SectionId,
    /// The heading.
    pub(crate) title: String,
    /// Said small beside the heading: the procedure that the steps come from.
    pub(crate) from: Option<String>,
    /// Below it.
    pub(crate) blocks: Vec<Block>,
}

/// Where a sheet may be left, and what the machine is like there.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Stop {
    /// Its number on the sheet, from 1.
    pub(crate) number: u32,
    /// "Group 2 of 5: steps 4 to 9".
    pub(crate) title: String,
    /// Who signs.
    pub(crate) role: String,
    /// All that is not as it was found: "off: carburettor, air cleaner base".
    pub(crate) state: Vec<String>,
    /// Why the machine may not be left here; none where it may, and a box says so.
    pub(crate) never: Option<String>,
}

/// A line to sign.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SignLine {
    /// What the signature stands for: "Take off, steps 4 to 9".
    pub(crate) what: String,
    /// Who signs: "Mechanic".
    pub(crate) role: String,
}
