//! The blocks of a page's body, and the types they are made of.

use super::{Figure, SafetyMessage, SectionId, SheetStep, Sign, Table, TextRun, TitledDrawing};
use serde::Serialize;

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "block", rename_all = "kebab-case")]
pub(crate) enum Block {
    /// Sections nest at most two deep.
    Section(SheetSection),
    /// A paragraph.
    Text {
        runs: Vec<TextRun>,
    },
    /// A bulleted list.
    Bullets {
        items: Vec<Vec<TextRun>>,
    },
    /// A note that is not attached to a step. It begins with its word.
    Note {
        runs: Vec<TextRun>,
    },
    /// A safety message that is not attached to a step.
    Safety(SafetyMessage),
    Table(Table),
    Steps {
        /// Step numbers continue from the previous block of steps.
        steps: Vec<SheetStep>,
    },
    /// A figure that is not attached to a step.
    Figure(Figure),
    /// Drawings that are not at a step, beside each other.
    Drawings {
        drawings: Vec<TitledDrawing>,
    },
    /// The notices of every sheet: what the sheet does not replace, and the shop's own notices.
    Notices {
        /// One paragraph each.
        notices: Vec<String>,
    },
    /// What to wear and to prepare before the first step.
    Protection {
        signs: Vec<Sign>,
        /// What has no sign: moving air, a drip tray.
        notes: Vec<String>,
    },
    /// What a job needs and starts from, a line for each: tools, people, the machine as found.
    SetUp {
        lines: Vec<SetUpLine>,
    },
    /// The end of a group of steps, where the group is signed and work may be interrupted.
    Stop(Stop),
    SignOff {
        lines: Vec<SignLine>,
    },
    /// Space to report an error in the sheet.
    WrongHere {
        /// What to write there: "Step or table, and what it should say".
        label: String,
    },
    /// Lines of a source file, to be read as they are typed.
    Listing(Listing),
}

/// Lines of a source file.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Listing {
    /// The file.
    pub(crate) caption: Option<String>,
    /// The lines, without a line break at the end.
    pub(crate) text: String,
    /// The language of the words in the lines, a BCP 47 tag. `None` for that of the text around it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) language: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetSection {
    /// Unique on the page.
    pub(crate) id: SectionId,
    pub(crate) title: String,
    /// Printed small beside the heading: the title of the procedure that the steps come from, or the level of a rule.
    /// `None` for the job's own procedure.
    pub(crate) from: Option<String>,
    pub(crate) blocks: Vec<Block>,
}

/// A line of a set-up box.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SetUpLine {
    /// "Special tools".
    pub(crate) label: String,
    pub(crate) runs: Vec<TextRun>,
}

/// A point where a group of steps is signed and work may be interrupted.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Stop {
    /// The group's number on the sheet, from 1.
    pub(crate) number: u32,
    /// "Group 2 of 5: steps 4 to 9".
    pub(crate) title: String,
    /// Who signs.
    pub(crate) role: String,
    /// The machine's state in one line, as a person would say it: "6 parts removed; petrol drained;
    /// ignition isolated and proved".
    pub(crate) state: String,
    /// Why the machine must not be left in this state. If `None`, it may be left, and the sheet has
    /// a box to tick.
    pub(crate) never: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SignLine {
    /// What the signature confirms: "Take off, steps 4 to 9".
    pub(crate) what: String,
    /// Who signs: "Mechanic".
    pub(crate) role: String,
}
