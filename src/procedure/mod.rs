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
pub(crate) use cause::Cause;
pub(crate) use read::{read, read_faults};
pub(crate) use rules::RULES;
pub(crate) use rules::{UNKNOWN_PLACE, UNKNOWN_THING};
use std::collections::BTreeMap;

/// The id of a procedure: its index among all of them, in order of their paths.
pub(crate) type ProcedureId = Id<Procedure>;

/// The type of what a [`FaultId`] is an id of: fault tables are read as [`Procedure`]s, and are
/// counted by themselves.
#[derive(Debug)]
pub(crate) enum FaultTable {}

/// The id of a fault table: its index among all of them, in order of their paths.
pub(crate) type FaultId = Id<FaultTable>;

/// The id of a figure: its index among the tree's.
pub(crate) type FigureFileId = Id<FigureFile>;

/// One procedure, or a fault table, as written.
#[derive(Clone, Debug)]
pub(crate) struct Procedure {
    /// Its id, its file's name.
    pub(crate) id: String,
    /// Its folder, the manual's chapter.
    pub(crate) system: String,
    /// Its file.
    pub(crate) file: FileId,
    /// Its path from the tree's root.
    pub(crate) path: String,
    /// Its title.
    pub(crate) title: Located<String>,
    /// The machines it is for.
    pub(crate) machines: Vec<Located<MachineId>>,
    /// Minutes allowed for it alone.
    pub(crate) minutes: Option<u32>,
    /// How often it is due.
    pub(crate) interval: Option<String>,
    /// Done before it.
    pub(crate) begin: Vec<Located<ProcedureId>>,
    /// Done after it.
    pub(crate) finish: Vec<Located<ProcedureId>>,
    /// Its revision.
    pub(crate) revision: u32,
    /// The day of its revision, `YYYY-MM-DD`.
    pub(crate) revised: Option<String>,
    /// What it leaves undone on purpose, and why.
    pub(crate) leaves: Vec<(Located<String>, Located<String>)>,
    /// Where its Markdown stands, behind the front matter.
    pub(crate) body: Span,
    /// Why the job is done.
    pub(crate) why: Vec<ProseBlock>,
    /// Its sections.
    pub(crate) sections: Vec<Section>,
    /// Where the references in its text lead, by the span of the action.
    pub(crate) references: BTreeMap<Span, Reference>,
    /// The figures in its text, by the span of the path.
    pub(crate) figures: BTreeMap<Span, FigureFileId>,
    /// Whether its front matter could be read whole; if not, no job is made of it.
    pub(crate) whole: bool,
    /// Whether every procedure that it begins with, does and finishes with was found; if not, no job
    /// is made of it.
    pub(crate) has_all_parts: bool,
}

impl Procedure {
    /// Whether it is for a machine.
    #[must_use]
    pub(crate) fn is_for(&self, machine: MachineId) -> bool {
        self.machines.iter().any(|id| id.value == machine)
    }

    /// Every procedure that it is made up of: those it begins with, does and finishes with.
    pub(crate) fn parts(&self) -> impl Iterator<Item = &Located<ProcedureId>> {
        let done = self.steps().flat_map(|step| &step.done);
        self.begin.iter().chain(done).chain(&self.finish)
    }

    /// Its steps as written, in order.
    pub(crate) fn steps(&self) -> impl Iterator<Item = &Step> {
        self.sections.iter().flat_map(Section::steps)
    }
}

impl Step {
    /// Whether the step is kept on a machine.
    #[must_use]
    pub(crate) fn is_for(&self, machine: MachineId) -> bool {
        let only = self.only.as_ref();
        only.is_none_or(|only| only.iter().any(|id| id.value == machine))
    }
}

impl Section {
    /// Its steps as written, in order.
    pub(crate) fn steps(&self) -> impl Iterator<Item = &Step> {
        self.items.iter().filter_map(|item| match item {
            Item::Step(step) => Some(step),
            Item::Text(_) | Item::Figure(_) => None,
        })
    }
}

/// Where a reference leads, as far as it can be told without a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Reference {
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
pub(crate) enum StepName {
    /// By its id.
    Id(String),
    /// By an action in it: the verb and the thing's key.
    Action(Verb, String),
}

/// A section.
#[derive(Clone, Debug)]
pub(crate) struct Section {
    /// Its title, plain.
    pub(crate) title: String,
    /// Whether the way back is written by the compiler.
    pub(crate) reverse: bool,
    /// What stands below it.
    pub(crate) items: Vec<Item>,
    /// Its heading.
    pub(crate) span: Span,
}

/// Something in a section.
#[derive(Clone, Debug)]
pub(crate) enum Item {
    /// Text, a plain list.
    Text(ProseBlock),
    /// A figure by itself.
    Figure(Image),
    /// A step.
    Step(Step),
}

/// A step, as written.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    /// Its id.
    pub(crate) id: Option<Located<String>>,
    /// Whether it goes where the machine lacks a thing it names.
    pub(crate) if_fitted: bool,
    /// The machines it is kept to; none where it is for all.
    pub(crate) only: Option<Vec<Located<MachineId>>>,
    /// The procedures that it does in full, by the span of the name.
    pub(crate) done: Vec<Located<ProcedureId>>,
    /// Rules it breaks on purpose, and why: name and reason.
    pub(crate) excuses: Vec<(String, String)>,
    /// The cautions that stand above it.
    pub(crate) cautions: Vec<ActionLink>,
    /// Its first paragraph.
    pub(crate) text: Vec<Inline>,
    /// Further paragraphs and points.
    pub(crate) notes: Vec<Vec<Inline>>,
    /// Its figures.
    pub(crate) figures: Vec<Image>,
    /// All of it.
    pub(crate) span: Span,
}
