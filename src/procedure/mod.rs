//! Markdown files become [`Procedure`]s: sections, steps, actions, cautions.
//!
//! In: the tree's Markdown sources. Out: their content, with the span of every
//! field, step and action, and with the ids of the machines, procedures and figures
//! that it names. A fault table is read as a procedure, too: its steps are likely
//! causes. The actions of the steps keep their names: `job` finds the things on each
//! machine.

mod cause;
mod caution;
mod names;
mod read;
mod rules;
mod step;

use crate::finding::{FileId, Located, Span};
use crate::prose::{ActionLink, Image, Inline, ProseBlock, Verb};
use crate::record::Id;
use crate::shop::MachineId;
use crate::tree::FigureFile;
pub use cause::Cause;
pub use read::{read, read_faults};
pub use rules::RULES;
pub(crate) use rules::{UNKNOWN_PLACE, UNKNOWN_THING};
use std::collections::BTreeMap;

/// The id of a procedure: its index among all of them, in order of their paths.
pub type ProcedureId = Id<Procedure>;

/// The type of what a [`FaultId`] is an id of: fault tables are read as [`Procedure`]s, and are
/// counted by themselves.
#[derive(Debug)]
pub enum FaultTable {}

/// The id of a fault table: its index among all of them, in order of their paths.
pub type FaultId = Id<FaultTable>;

/// The id of a figure: its index among the tree's.
pub type FigureFileId = Id<FigureFile>;

/// One procedure, or a fault table, as written.
#[derive(Clone, Debug)]
pub struct Procedure {
    /// Its id, its file's name.
    pub id: String,
    /// Its folder, the manual's chapter.
    pub system: String,
    /// Its file.
    pub file: FileId,
    /// Its path from the tree's root.
    pub path: String,
    /// Its title.
    pub title: Located<String>,
    /// The machines it is for.
    pub machines: Vec<Located<MachineId>>,
    /// Minutes allowed for it alone.
    pub minutes: Option<u32>,
    /// How often it is due.
    pub interval: Option<String>,
    /// Done before it.
    pub begin: Vec<Located<ProcedureId>>,
    /// Done after it.
    pub finish: Vec<Located<ProcedureId>>,
    /// Its revision.
    pub revision: u32,
    /// The day of its revision, `YYYY-MM-DD`.
    pub revised: Option<String>,
    /// What it leaves undone on purpose, and why.
    pub leaves: Vec<(Located<String>, Located<String>)>,
    /// Where its Markdown stands, behind the front matter.
    pub body: Span,
    /// Why the job is done.
    pub why: Vec<ProseBlock>,
    /// Its sections.
    pub sections: Vec<Section>,
    /// Where the references in its text lead, by the span of the action.
    pub references: BTreeMap<Span, Reference>,
    /// The figures in its text, by the span of the path.
    pub figures: BTreeMap<Span, FigureFileId>,
    /// Whether its front matter could be read whole; if not, no job is made of it.
    pub whole: bool,
    /// Whether every procedure that it begins with, does and finishes with was found; if not, no job
    /// is made of it.
    pub has_all_parts: bool,
}

impl Procedure {
    /// Whether it is for a machine.
    #[must_use]
    pub fn is_for(&self, machine: MachineId) -> bool {
        self.machines.iter().any(|id| id.value == machine)
    }

    /// Every procedure that it is made up of: those it begins with, does and finishes with.
    pub fn parts(&self) -> impl Iterator<Item = &Located<ProcedureId>> {
        let done = self.steps().flat_map(|step| &step.done);
        self.begin.iter().chain(done).chain(&self.finish)
    }

    /// Its steps as written, in order.
    pub fn steps(&self) -> impl Iterator<Item = &Step> {
        self.sections.iter().flat_map(Section::steps)
    }
}

impl Step {
    /// Whether the step is kept on a machine.
    #[must_use]
    pub fn is_for(&self, machine: MachineId) -> bool {
        let only = self.only.as_ref();
        only.is_none_or(|only| only.iter().any(|id| id.value == machine))
    }
}

impl Section {
    /// Its steps as written, in order.
    pub fn steps(&self) -> impl Iterator<Item = &Step> {
        self.items.iter().filter_map(|item| match item {
            Item::Step(step) => Some(step),
            Item::Text(_) | Item::Figure(_) => None,
        })
    }
}

/// Where a reference leads, as far as it can be told without a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reference {
    /// A procedure.
    Procedure(ProcedureId),
    /// A fault table.
    Fault(FaultId),
    /// A figure.
    Figure(FigureFileId),
    /// A step of the job.
    Step(StepName),
}

/// How a reference names a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StepName {
    /// By its id.
    Id(String),
    /// By an action in it: the verb and the thing's key.
    Action(Verb, String),
}

/// A section.
#[derive(Clone, Debug)]
pub struct Section {
    /// Its title, plain.
    pub title: String,
    /// Whether the way back is written by the compiler.
    pub reverse: bool,
    /// What stands below it.
    pub items: Vec<Item>,
    /// Its heading.
    pub span: Span,
}

/// Something in a section.
#[derive(Clone, Debug)]
pub enum Item {
    /// Text, a plain list.
    Text(ProseBlock),
    /// A figure by itself.
    Figure(Image),
    /// A step.
    Step(Step),
}

/// A step, as written.
#[derive(Clone, Debug)]
pub struct Step {
    /// Its id.
    pub id: Option<Located<String>>,
    /// Whether it goes where the machine lacks a thing it names.
    pub if_fitted: bool,
    /// The machines it is kept to; none where it is for all.
    pub only: Option<Vec<Located<MachineId>>>,
    /// The procedures that it does in full, by the span of the name.
    pub done: Vec<Located<ProcedureId>>,
    /// Rules it breaks on purpose, and why: name and reason.
    pub excuses: Vec<(String, String)>,
    /// The cautions that stand above it.
    pub cautions: Vec<ActionLink>,
    /// Its first paragraph.
    pub text: Vec<Inline>,
    /// Further paragraphs and points.
    pub notes: Vec<Vec<Inline>>,
    /// Its figures.
    pub figures: Vec<Image>,
    /// All of it.
    pub span: Span,
}
