//! Steps, and what is written down at them.

use super::{Figure, SafetyMessage, TextRun, Value};
use serde::{Serialize, Serializer};
use std::sync::Arc;

/// One step.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetStep {
    /// Its number on the sheet, from 1.
    pub(crate) number: u32,
    /// On a page that shows a procedure on several machines: what is the same for a step on all of
    /// them, so that whoever changes the machine stays at the step.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) same_as: Option<String>,
    /// Messages that must be read before it; never parted from it.
    pub(crate) before: Vec<SafetyMessage>,
    /// What is done in it, wherever and under whatever number it is done.
    #[serde(flatten, serialize_with = "shared")]
    pub(crate) content: Arc<SheetStepContent>,
}

/// Serialises what several steps may share.
fn shared<S: Serializer>(
    content: &Arc<SheetStepContent>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    content.as_ref().serialize(serializer)
}

/// What is done in a step.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SheetStepContent {
    /// What to do.
    pub(crate) text: Vec<TextRun>,
    /// Further paragraphs and sub-points.
    pub(crate) notes: Vec<Vec<TextRun>>,
    /// The values it needs, each on its own line on a shop sheet.
    pub(crate) details: Vec<Detail>,
    /// What is written down at it.
    pub(crate) blanks: Vec<Blank>,
    /// Its figures.
    pub(crate) figures: Vec<Figure>,
    /// Roles that sign here before anyone goes on.
    pub(crate) holds: Vec<String>,
}

/// A value or fact that a step needs.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Detail {
    /// What it is of: "manifold nut, 2 × M6".
    pub(crate) label: String,
    /// The value, where there is one.
    pub(crate) value: Option<Value>,
    /// Short facts after it: "10 mm hex", "crosswise", "long leg towards the engine".
    pub(crate) more: Vec<String>,
}

/// Something to write at a step.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(tag = "blank", rename_all = "kebab-case")]
pub(crate) enum Blank {
    /// Tick one of a few places.
    Choice {
        /// "governor rod sat in".
        label: String,
        /// The places it could be.
        options: Vec<String>,
    },
    /// Write a reading beside its limits.
    Reading {
        /// "governed speed, no load, warm".
        label: String,
        /// The limits.
        limits: Value,
        /// The headings of the boxes: "as found", "as left".
        boxes: Vec<String>,
        /// The unit to write, printed behind each box.
        unit: String,
        /// The least that is within the limits, in that unit, as a plain decimal number.
        least: Option<String>,
        /// The most.
        most: Option<String>,
        /// What to do when it is over.
        over: Option<String>,
        /// What to do when it is under.
        under: Option<String>,
    },
    /// Write words or a number.
    Words {
        /// "valve lash, inlet".
        label: String,
    },
    /// The state that the step brings about, to tick: what was done is written, not that something was.
    State {
        /// "fuel tap"; empty where the state says it all.
        label: String,
        /// "closed".
        state: String,
    },
    /// The bag that what comes off goes into.
    Bag {
        /// "manifold nuts".
        label: String,
        /// How many pieces.
        count: String,
    },
}
