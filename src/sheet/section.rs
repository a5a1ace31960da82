//! The sections of a job with their steps, in the views that pages have of them.

use crate::page::{Block, Figure, SafetyMessage, SheetStepContent, Stop};
use std::sync::Arc;

/// A section of a job, with its steps.
pub(crate) struct StepSection {
    /// Its number in the job, from 1.
    pub(crate) number: usize,
    pub(crate) title: String,
    /// The title of the procedure that it is taken over from.
    pub(crate) from: Option<String>,
    pub(crate) items: Vec<SectionItem>,
}

/// What is in a section.
pub(crate) enum SectionItem {
    Step(DocumentStep),
    Text(Block),
    Figure(Figure),
    Stop(Stop),
}

/// A step, as full and as short as it is shown.
pub(crate) struct DocumentStep {
    pub(crate) number: u32,
    /// Messages that must be read before it.
    pub(crate) before: Vec<SafetyMessage>,
    /// What tells it from the other steps of its procedure, the same on every machine.
    pub(crate) same_as: String,
    /// As a shop sheet and the manual say it.
    pub(crate) full: Arc<SheetStepContent>,
    /// As a checklist says it.
    pub(crate) at_bench: Arc<SheetStepContent>,
}
