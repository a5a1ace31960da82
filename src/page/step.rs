//! Steps, and what is recorded at them.

use super::{Drawing, Figure, StepMessage, TextRun, Value};
use serde::{Serialize, Serializer};
use std::sync::Arc;

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetStep {
    /// The step's number on the sheet, from 1.
    pub(crate) number: u32,
    /// A key that the same step has on every machine, so that a reader who switches the machine
    /// stays at the step. `None` on a checklist.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) same_as: Option<String>,
    /// The step's key for what is entered at it. `None` except on a checklist.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) key: Option<StepKey>,
    /// Whether the step has a space for initials. Otherwise only its group is signed.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub(crate) initials: bool,
    /// Safety messages to read before the step. Layout never separates them from it.
    pub(crate) before: Vec<StepMessage>,
    /// The content, which does not depend on the step's number or page.
    #[serde(flatten, serialize_with = "serialize_content")]
    pub(crate) content: Arc<SheetStepContent>,
}

/// Identifies a step across versions and languages of its sheet.
///
/// What is entered at a step belongs to what the step says, so the id depends on that: on the text, values,
/// limits and options, but not on the step's number or the page's language.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct StepKey {
    /// Unique on the sheet.
    pub(crate) id: String,
    /// A key that the step keeps if only its content changes: by the author's id for it, otherwise by its
    /// actions. Empty if it has neither. Not unique.
    pub(crate) like: String,
}

/// Serializes through the `Arc`, which several steps may share.
fn serialize_content<S: Serializer>(
    content: &Arc<SheetStepContent>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    content.as_ref().serialize(serializer)
}

/// The content of a step, shared by the pages that show it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetStepContent {
    /// Notes above the step, below its safety messages. Each begins with its word.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) above: Vec<Vec<TextRun>>,
    /// What it depends on whether the step is done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) only_if: Option<OnlyIf>,
    pub(crate) text: Vec<TextRun>,
    /// How often the steps up to this one are repeated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) repeat: Option<String>,
    /// Further paragraphs and sub-points.
    pub(crate) notes: Vec<Vec<TextRun>>,
    /// Values and facts for the step, each on its own line on a shop sheet.
    pub(crate) details: Vec<Detail>,
    /// What is recorded at the step.
    pub(crate) blanks: Vec<Blank>,
    /// The dimensions that are measured at the step, a table for each part.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) wear: Vec<WearTable>,
    pub(crate) figures: Vec<Figure>,
    /// Drawings of what the machine's records say about the step.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub(crate) drawings: Vec<Drawing>,
    /// Roles that must sign before the next step begins.
    pub(crate) holds: Vec<String>,
    /// Whether the step is ticked. A step that records something is not: the record says that it is
    /// done.
    pub(crate) tick: bool,
}

/// What it depends on whether a step is done.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct OnlyIf {
    /// "Only if the float height is over its limit:".
    pub(crate) text: String,
    /// The reading or the part whose outcome it is.
    pub(crate) of: String,
    /// The outcomes on which the step is done, as a checklist on a screen names them.
    pub(crate) outcomes: Vec<&'static str>,
    /// Whether there is a box to tick if the step is not needed.
    pub(crate) to_fill: bool,
}

/// A value or fact that a step needs.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Detail {
    /// What the value belongs to: "manifold nut, 2 × M6".
    pub(crate) label: String,
    pub(crate) value: Option<Value>,
    /// Short facts after the value: "10 mm hex", "crosswise", "long leg towards the engine".
    pub(crate) more: Vec<String>,
    /// The part that goes back to the position in which an earlier step noted it. A checklist that is
    /// filled in on a screen shows that position here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) noted: Option<String>,
}

/// What a reading is compared with on a screen. Plain decimal numbers in the unit of the reading; `None` if there is
/// no such bound.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize)]
pub(crate) struct ReadingBounds {
    /// The lower limit.
    pub(crate) least: Option<String>,
    /// The upper limit.
    pub(crate) most: Option<String>,
    /// The least value that such a reading can have.
    pub(crate) possible: Option<String>,
    /// Whether such a reading is taken to thousandths, so that the point of `1.250` separates decimals.
    pub(crate) to_thousandths: bool,
}

/// Dimensions of a part, which decide whether it is used again.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct WearTable {
    /// The name of the part.
    pub(crate) part: String,
    pub(crate) rows: Vec<WearRow>,
    pub(crate) has: WearColumns,
    /// Whether there is space for what is found, and for the decision.
    pub(crate) to_fill: bool,
}

/// The columns that are printed only if any row has something in them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize)]
pub(crate) struct WearColumns {
    /// The size of a new part.
    pub(crate) new: bool,
    /// The desired size.
    pub(crate) desired: bool,
    /// What is done beyond the limit.
    pub(crate) beyond: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct WearRow {
    /// The reading. Several rows of a sheet can be for the same one.
    pub(crate) of: String,
    /// "crankpin diameter".
    pub(crate) label: String,
    /// Where and with which tool it is measured.
    pub(crate) how: Vec<String>,
    pub(crate) new: Option<Value>,
    pub(crate) desired: Option<Value>,
    pub(crate) limit: Value,
    /// The unit of what is found, printed after the blank.
    pub(crate) unit: String,
    #[serde(flatten)]
    pub(crate) bounds: Box<ReadingBounds>,
    /// What is done beyond the limit.
    pub(crate) beyond: Option<String>,
}

/// A blank to fill in at a step.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "blank", rename_all = "kebab-case")]
pub(crate) enum Blank {
    /// Tick one of several positions.
    Choice {
        /// "governor rod sat in".
        label: String,
        /// The possible positions.
        options: Vec<String>,
        /// The part whose position it is. `None` for another decision.
        noted: Option<String>,
        /// The part that is used again or renewed. `None` for another decision.
        #[serde(skip_serializing_if = "Option::is_none")]
        decides: Option<String>,
    },
    /// Write a reading next to its limits.
    Reading {
        /// The reading or part that is measured. Several blanks can be for the same one.
        of: String,
        /// "governed speed, no load, warm".
        label: String,
        limits: Value,
        /// The headings of the boxes: "as found", "as left".
        boxes: Vec<String>,
        /// The unit of the reading, printed after each box.
        unit: String,
        #[serde(flatten)]
        bounds: Box<ReadingBounds>,
        /// The remedy for a reading above the limits.
        over: Option<String>,
        /// The remedy for a reading below the limits.
        under: Option<String>,
    },
    /// Write free text or a number.
    Words {
        /// "valve lash, inlet".
        label: String,
        /// The part whose position it is.
        noted: Option<String>,
    },
    /// Write the number of the bag that the removed parts go into. It may stay empty.
    Bag {
        /// "manifold nuts".
        label: String,
        /// The number of pieces, as text: "2 pieces".
        count: String,
    },
    /// Write until when the step waits.
    Wait {
        /// "until".
        label: String,
        seconds: u32,
    },
    /// Tick whether a level is below, between or above its marks.
    Level {
        /// The reading. Several blanks can be for the same one.
        of: String,
        /// "engine oil level".
        label: String,
        /// "between MIN and MAX". A checklist does not print it: the boxes say it.
        #[serde(skip)]
        limits: Value,
        /// Below, between and above the marks, in this order.
        options: Vec<String>,
        /// The remedy for a level above the marks.
        over: Option<String>,
        /// The remedy for a level below the marks.
        under: Option<String>,
    },
}
