//! Reads Markdown files into [`Procedure`]s: sections, steps, actions, cautions, notes.
//!
//! In: the tree's Markdown sources. Out: their content, with the span of every field, step and action. Names of
//! machines, procedures and figures are resolved to ids. A fault table is also read as a procedure, whose steps
//! are likely causes. This module never resolves the things that actions name: `job` does, for each machine.

mod cause;
mod fields;
mod figures;
mod front;
mod inlines;
mod loops;
mod names;
mod not_ready;
mod outcome;
mod quote;
mod read;
mod rules;
mod step;
mod stray;
mod titles;

use crate::finding::{FileId, Located, Span};
use crate::prose::{ActionLink, Image, Inline, Note, ProseBlock, Verb};
use crate::record::Id;
use crate::shop::MachineId;
use crate::tree::FigureFile;
pub(crate) use cause::Cause;
pub(crate) use figures::{
    figure_faults, report_broken_figures, report_missing_pictures, report_unused_figures,
};
pub(crate) use not_ready::not_ready;
pub(crate) use outcome::{Found, Outcome, Repeat, When};
pub(crate) use read::{read, read_again, read_faults};
pub(crate) use rules::RULES;
pub(crate) use rules::{UNKNOWN_THING, UNRESOLVED_REFERENCE};
use std::collections::BTreeMap;
pub(crate) use titles::report_duplicate_titles;

/// The id of a procedure: its index among all of them, in order of their paths.
pub(crate) type ProcedureId = Id<Procedure>;

/// A marker type for [`FaultId`]. Fault tables are read as [`Procedure`]s, but have indices of their own.
#[derive(Debug)]
pub(crate) enum FaultTable {}

/// The id of a fault table: its index among all of them, in order of their paths.
pub(crate) type FaultId = Id<FaultTable>;

/// The id of a figure: its index among the tree's.
pub(crate) type FigureFileId = Id<FigureFile>;

/// A procedure or fault table, as written.
#[derive(Clone, Debug)]
pub(crate) struct Procedure {
    /// Its key: the stem of its file's name.
    pub(crate) id: String,
    /// The name of its folder, which is a chapter of the manual.
    pub(crate) system: String,
    pub(crate) file: FileId,
    /// The path of its file from the tree's root.
    pub(crate) path: String,
    /// The key, with an empty span, if the title is missing.
    pub(crate) title: Located<String>,
    /// The machines that it is for.
    pub(crate) machines: Vec<Located<MachineId>>,
    /// Minutes allowed for it, without the procedures that it includes.
    pub(crate) minutes: Option<u32>,
    /// How many people it takes.
    pub(crate) people: Option<u32>,
    /// What has to be so when the job begins, in the author's words.
    pub(crate) at_start: Vec<String>,
    /// How often it is due, in the author's words. A rule reads it, in the language of the shop's text.
    pub(crate) interval: Option<Located<String>>,
    /// Procedures to do before it.
    pub(crate) begin: Vec<Located<ProcedureId>>,
    /// Procedures to do at the end of the job.
    pub(crate) finish: Vec<Located<ProcedureId>>,
    /// The procedure that takes off what this one puts back.
    pub(crate) reverses: Option<Located<ProcedureId>>,
    /// Procedures to do some time after the job, as jobs of their own.
    pub(crate) follow_on: Vec<Located<ProcedureId>>,
    /// From 1, which is the default.
    pub(crate) revision: u32,
    /// The day of the revision, `YYYY-MM-DD`.
    pub(crate) revised: Option<String>,
    /// Keys of things that are left as they are when the job ends, each with the reason.
    pub(crate) left_undone: Vec<(Located<String>, Located<String>)>,
    /// The span of the Markdown below the front matter.
    pub(crate) body: Span,
    /// The text above the first section: the reason for the job.
    pub(crate) why: Vec<ProseBlock>,
    pub(crate) sections: Vec<Section>,
    /// The references in the text that could be resolved, by the span of the action.
    pub(crate) references: BTreeMap<Span, Reference>,
    /// The figures in the text that could be resolved, by the span of the path.
    pub(crate) figures: BTreeMap<Span, FigureFileId>,
    /// Whether the front matter could be read in full. If not, no job is made of the procedure.
    pub(crate) is_complete: bool,
    /// Whether all procedures named by `begin`, `do`, `finish` and `reverses` exist. If not, no job is made of the procedure.
    pub(crate) has_all_parts: bool,
}

impl Procedure {
    #[must_use]
    pub(crate) fn is_for(&self, machine: MachineId) -> bool {
        self.machines.iter().any(|id| id.value == machine)
    }

    /// The procedures that it includes directly: those named by `begin`, `do` and `finish`, in this order.
    pub(crate) fn parts(&self) -> impl Iterator<Item = &Located<ProcedureId>> {
        let done = self.steps().flat_map(|step| &step.done);
        self.begin.iter().chain(done).chain(&self.finish)
    }

    /// The procedures that its jobs are made of, or start from: its [`Self::parts`], and the one that it reverses.
    pub(crate) fn parts_and_reversed(&self) -> impl Iterator<Item = &Located<ProcedureId>> {
        self.parts().chain(&self.reverses)
    }

    /// The procedures that its front matter names.
    pub(crate) fn named_in_front(&self) -> impl Iterator<Item = &Located<ProcedureId>> {
        let parts = self.begin.iter().chain(&self.finish);
        parts.chain(&self.reverses).chain(&self.follow_on)
    }

    pub(crate) fn steps(&self) -> impl Iterator<Item = &Step> {
        self.sections.iter().flat_map(Section::steps)
    }

    /// The sections that are inspections.
    pub(crate) fn inspections(&self) -> impl Iterator<Item = &Section> {
        self.sections.iter().filter(|section| section.inspection)
    }
}

impl Step {
    /// Whether `{only="…"}` allows the step on a machine.
    #[must_use]
    pub(crate) fn is_for(&self, machine: MachineId) -> bool {
        let only = self.only.as_ref();
        only.is_none_or(|only| only.iter().any(|id| id.value == machine))
    }
}

impl Section {
    pub(crate) fn steps(&self) -> impl Iterator<Item = &Step> {
        self.items.iter().filter_map(|item| match item {
            Item::Step(step) => Some(step),
            Item::Text(_) | Item::Figure(_) => None,
        })
    }
}

/// The target of a reference, as far as it can be resolved without a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Reference {
    Procedure(ProcedureId),
    Fault(FaultId),
    Figure(FigureFileId),
    /// A step of the job. Each job resolves the name to a number.
    Step(StepName),
}

/// How a reference names a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum StepName {
    /// By the id that the author gave it.
    Id(String),
    /// By an action in it: the verb and the thing's key.
    Action(Verb, String),
}

#[derive(Clone, Debug)]
pub(crate) struct Section {
    /// Its heading as plain text.
    pub(crate) title: String,
    /// Whether the compiler derives its steps, which reassemble the machine: `{.reverse}`.
    pub(crate) reverse: bool,
    /// Whether its steps are the items of an inspection, and its heading is an interval: `{.inspection}`.
    pub(crate) inspection: bool,
    pub(crate) items: Vec<Item>,
    /// The span of its heading.
    pub(crate) span: Span,
}

#[derive(Clone, Debug)]
pub(crate) enum Item {
    /// A paragraph, a plain list, or a note that belongs to no step.
    Text(ProseBlock),
    /// A figure that is not part of a step.
    Figure(Image),
    Step(Step),
}

/// A step, as written.
#[derive(Clone, Debug)]
pub(crate) struct Step {
    /// The id that the author gave it, for references.
    pub(crate) id: Option<Located<String>>,
    /// Whether it is left out on a machine that lacks a thing that it names.
    pub(crate) if_fitted: bool,
    /// The machines that it is restricted to. `None` means all machines of the procedure.
    pub(crate) only: Option<Vec<Located<MachineId>>>,
    /// What it depends on: it is done only if a thing has an outcome.
    pub(crate) when: Option<Box<When>>,
    /// The steps that are repeated, of which it is the last.
    pub(crate) repeat: Option<Box<Repeat>>,
    /// The procedures that it includes by `do`. Their spans are those of the names.
    pub(crate) done: Vec<Located<ProcedureId>>,
    /// The rules that it breaks on purpose, each with the reason.
    pub(crate) waivers: Vec<(String, String)>,
    /// The cautions that the author put above it or in its text.
    pub(crate) cautions: Vec<ActionLink>,
    /// The notes in block quotes above it or in its item.
    pub(crate) above: Vec<Note>,
    /// Its first paragraph.
    pub(crate) text: Vec<Inline>,
    /// Further paragraphs and list items.
    pub(crate) notes: Vec<Vec<Inline>>,
    pub(crate) figures: Vec<Image>,
    pub(crate) span: Span,
}
