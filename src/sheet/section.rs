//! The sections of a job and their steps, from which views are made.

use crate::page::{Block, Figure, SafetyMessage, SheetStepContent, StepKey, Stop};
use std::sync::Arc;

pub(crate) struct StepSection {
    /// The section's number in the job, from 1.
    pub(crate) number: usize,
    pub(crate) title: String,
    /// The title of the procedure that the section comes from, if it is not the job's own.
    pub(crate) from: Option<String>,
    pub(crate) items: Vec<SectionItem>,
    /// The steps as a table, if they are the items of an inspection.
    pub(crate) inspection: Option<Inspection>,
}

/// The table of an inspection, and what its checklist ends with.
pub(crate) struct Inspection {
    /// Item, what to look for, when the machine is not ready. `None` without items.
    pub(crate) table: Option<Block>,
    /// Space for the day and the running hours of one inspection.
    pub(crate) done: Block,
}

pub(crate) enum SectionItem {
    Step(DocumentStep),
    Text(Block),
    Figure(SectionFigure),
    Stop(Stop),
}

/// A figure between steps, as sheets that are read and checklists show it.
pub(crate) struct SectionFigure {
    pub(crate) full: Figure,
    /// `None` if checklists have only what each step touches of it.
    pub(crate) checklist: Option<Figure>,
}

/// A step in its full and its short form.
pub(crate) struct DocumentStep {
    pub(crate) number: u32,
    /// Safety messages to read before the step.
    pub(crate) before: Vec<SafetyMessage>,
    /// A key that identifies the step in its procedure, the same on every machine.
    pub(crate) same_as: String,
    /// The step's key for what is entered at it.
    pub(crate) key: StepKey,
    /// The content on a shop sheet and in the manual.
    pub(crate) full: Arc<SheetStepContent>,
    /// The content on a checklist.
    pub(crate) checklist: Arc<SheetStepContent>,
}
