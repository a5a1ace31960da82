//! The job as data: its sections, items and steps, and where its references lead.

use super::figures::Shown;
use crate::cache::Fingerprint;
use crate::finding::{FileId, Located, Span};
use crate::model::{Action, Thing};
use crate::procedure::{Outcome, Procedure};
use crate::prose::{Image, Inline, Note, ProseBlock, Verb};
use crate::shop::{
    Caution, CribChoice, Fluid, FluidState, Machine, Part, PerRecord, Shop, ThingId, Tool,
};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// A procedure on one machine.
#[derive(Debug)]
pub(crate) struct Job<'a> {
    pub(crate) shop: &'a Shop,
    pub(crate) machine: &'a Machine,
    pub(crate) procedure: &'a Procedure,
    /// The sections of all its procedures, in order of execution.
    pub(crate) sections: Vec<Arc<JobSection<'a>>>,
    /// The leading sections that other jobs on the machine may share. `None` if there is no such section.
    pub(crate) prefix: Option<Prefix>,
    /// What was done before it on another sheet, if its procedure reverses another.
    pub(crate) earlier: Option<Earlier<'a>>,
    /// The procedure that puts back what this job takes off, on a sheet of its own.
    pub(crate) continued_in: Option<&'a Procedure>,
    /// The target of each reference, by the reference's span.
    pub(crate) places: BTreeMap<Span, ReferenceTarget<'a>>,
    /// The path of each figure from the tree's root, by the span of the path as written in the source.
    pub(crate) figures: BTreeMap<Span, &'a str>,
    /// The figures that show what its steps touch.
    pub(crate) shown: Shown<'a>,
    /// Things that the author declared to be left as they are when the job ends.
    pub(crate) left_undone: Vec<LeftUndone<'a>>,
    /// The procedures for this machine that are done after the job, as jobs of their own.
    pub(crate) follow_on: Vec<&'a Procedure>,
    /// The sum of its procedures' `minutes`. `None` if any of them has none.
    pub(crate) minutes: Option<u32>,
    /// Every file that it is made from. An error in any of them is an error of the job.
    pub(crate) sources: BTreeSet<FileId>,
    /// The fault tables of the machine that refer to it as a remedy.
    pub(crate) remedied_faults: Vec<RemediedFault<'a>>,
    /// Whether all names could be resolved and all sources read in full. If not, a rehearsal would report
    /// consequences of those errors.
    pub(crate) is_complete: bool,
}

/// The first job of a pair: the second starts with the machine as the first leaves it.
#[derive(Clone, Debug)]
pub(crate) struct Earlier<'a> {
    pub(crate) procedure: &'a Procedure,
    /// Its sections, with those of the procedures before it.
    pub(crate) sections: Vec<Arc<JobSection<'a>>>,
}

/// A thing that the author declared to be left as it is when the job ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LeftUndone<'a> {
    /// The key as written under `[left-undone]`.
    pub(crate) key: &'a Located<String>,
    pub(crate) thing: ThingId,
    pub(crate) name: &'a str,
    /// The author's reason.
    pub(crate) why: &'a str,
}

/// The sections at the start of a job that come from its `begin` procedures. They usually make the machine safe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Prefix {
    /// The number of these sections.
    pub(crate) sections: usize,
    /// A fingerprint of the machine and of the procedures that the sections come from. Within one run, jobs
    /// with the same id have the same prefix.
    pub(crate) id: Fingerprint,
}

/// A fault table that refers to a job as a remedy.
#[derive(Clone, Debug)]
pub(crate) struct RemediedFault<'a> {
    pub(crate) fault: &'a Procedure,
    /// The numbers of the causes that the job remedies, ascending.
    pub(crate) causes: Vec<u32>,
}

/// When a section is done, relative to the job's own procedure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Phase {
    Begin,
    Own,
    Finish,
}

#[derive(Debug)]
pub(crate) struct JobSection<'a> {
    pub(crate) title: &'a str,
    /// Whether this is the rest of a section that a `do:` step interrupted.
    pub(crate) is_continued: bool,
    /// The procedure that it was written in.
    pub(crate) origin: &'a Procedure,
    pub(crate) phase: Phase,
    /// Its heading, if its steps are derived from what was done before.
    pub(crate) derived_at: Option<Span>,
    /// The files whose changes it undoes, if it is derived in a procedure that reverses another.
    pub(crate) pair: Vec<FileId>,
    /// Whether its steps are the items of an inspection, and its title is an interval.
    pub(crate) is_inspection: bool,
    pub(crate) items: Vec<JobItem<'a>>,
}

#[derive(Clone, Debug)]
pub(crate) enum JobItem<'a> {
    /// A paragraph, a plain list or a note.
    Text(&'a ProseBlock),
    /// A figure that is not part of a step.
    Figure(&'a Image),
    Step(JobStep<'a>),
}

/// A step of a job: a [`StepContent`] with its number.
#[derive(Clone, Debug)]
pub(crate) struct JobStep<'a> {
    /// From 1, counted through the whole job.
    pub(crate) number: u32,
    /// Cautions to print above it, most severe first.
    pub(crate) cautions: Vec<&'a Caution>,
    pub(crate) content: Arc<StepContent<'a>>,
}

impl<'a> Deref for JobStep<'a> {
    type Target = StepContent<'a>;

    fn deref(&self) -> &StepContent<'a> {
        &self.content
    }
}

/// The content of a step: everything that is the same in all jobs on a machine that contain the step.
#[derive(Debug)]
pub(crate) struct StepContent<'a> {
    /// The procedure that it was written in.
    pub(crate) origin: &'a Procedure,
    /// The id that the author gave it, for references.
    pub(crate) id: Option<&'a str>,
    /// The notes above it.
    pub(crate) above: &'a [Note],
    pub(crate) text: Cow<'a, [Inline]>,
    /// Paragraphs and list items below its text.
    pub(crate) notes: &'a [Vec<Inline>],
    pub(crate) figures: &'a [Image],
    /// The actions of its text and notes, in reading order.
    pub(crate) actions: Vec<Action<'a>>,
    /// Where it was written. For a derived step, the heading of the section that is derived.
    pub(crate) span: Span,
    /// What it depends on: it is done only if the thing has the outcome.
    pub(crate) when: Option<When<'a>>,
    /// The steps that are repeated, of which it is the last.
    pub(crate) repeat: Option<Repeat<'a>>,
    /// Rules that it breaks on purpose, each with the author's reason.
    pub(crate) waivers: &'a [(String, String)],
    /// Whether the compiler derived it.
    pub(crate) is_derived: bool,
}

/// An outcome of a part or of a reading.
#[derive(Clone, Copy, Debug)]
pub(crate) struct When<'a> {
    pub(crate) thing: Thing<'a>,
    pub(crate) outcome: Outcome,
}

/// Steps that are repeated until a thing has an outcome.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Repeat<'a> {
    pub(crate) until: When<'a>,
    /// The id of the first of the steps.
    pub(crate) back_to: &'a str,
    /// How often they are done, at most.
    pub(crate) at_most: u32,
}

impl<'a> When<'a> {
    /// Any other outcome of the thing. `None` if there is none.
    #[must_use]
    pub(crate) fn otherwise(self) -> Option<When<'a>> {
        let outcome = self.outcome.otherwise()?;
        Some(When { outcome, ..self })
    }

    /// Either of two outcomes of a thing. `None` if they are of different things.
    #[must_use]
    pub(crate) fn or(self, other: &When<'_>) -> Option<When<'a>> {
        let outcome = self.outcome.or(other.outcome);
        (self.thing.id() == other.thing.id()).then_some(When { outcome, ..self })
    }

    /// As written in a mark: `float-height.over`.
    pub(crate) fn written(self) -> String {
        format!("{}.{}", self.thing.key(), self.outcome.word())
    }
}

/// The target of a reference.
#[derive(Clone, Copy, Debug)]
pub(crate) enum ReferenceTarget<'a> {
    /// The number of a step of this job.
    Step(u32),
    /// A procedure for this job's machine.
    Procedure(&'a Procedure),
    /// A fault table for this job's machine.
    Fault(&'a Procedure),
    /// A figure of this job, by its path from the tree's root.
    Figure(&'a str),
}

/// Formats a job's name for findings: "`float-bowl` on `tarn-yarrow`".
#[derive(Clone, Copy, Debug)]
pub(crate) struct JobName<'a> {
    procedure: &'a str,
    machine: &'a str,
}

impl fmt::Display for JobName<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` on `{}`", self.procedure, self.machine)
    }
}

/// An action that fills a fluid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Filling<'j, 'a> {
    pub(crate) action: &'j Action<'a>,
    pub(crate) fluid: &'a Fluid,
    /// Whether the fluid is in already, so that only what is missing is added.
    pub(crate) is_top_up: bool,
}

impl<'a> Job<'a> {
    #[must_use]
    pub(crate) fn name(&self) -> JobName<'a> {
        JobName {
            procedure: &self.procedure.id,
            machine: &self.machine.id,
        }
    }

    /// Whether the author declared that a thing is left as it is.
    #[must_use]
    pub(crate) fn is_left(&self, thing: impl Into<ThingId>) -> bool {
        let thing = thing.into();
        self.left_undone.iter().any(|left| left.thing == thing)
    }

    /// The actions that fill a fluid, in order.
    pub(crate) fn fillings(&self) -> impl Iterator<Item = Filling<'_, 'a>> {
        let fluids = &self.machine.fluids;
        let mut levels = PerRecord::new(fluids, |fluid| fluid.initial);
        let changed = |action: &Action<'a>| match (action.verb, action.thing) {
            (Verb::Fill, Thing::Fluid(fluid)) => Some((fluid, FluidState::Full)),
            (Verb::Drain, Thing::Fluid(fluid)) => Some((fluid, FluidState::Empty)),
            _ => None,
        };
        for action in self.earlier_steps().flat_map(|step| step.all_actions()) {
            if let Some((fluid, level)) = changed(action) {
                levels[fluid.id] = level;
            }
        }
        let actions = self.steps().flat_map(|step| step.all_actions());
        actions.filter_map(move |action| {
            let (fluid, level) = changed(action)?;
            let before = std::mem::replace(&mut levels[fluid.id], level);
            (level == FluidState::Full).then_some(Filling {
                action,
                fluid,
                is_top_up: before == FluidState::Full,
            })
        })
    }

    pub(crate) fn steps(&self) -> impl Iterator<Item = &JobStep<'a>> {
        self.sections.iter().flat_map(|section| section.steps())
    }

    /// The steps that were done before the job, on another sheet.
    pub(crate) fn earlier_steps(&self) -> impl Iterator<Item = &JobStep<'a>> {
        let earlier = self.earlier.iter();
        let sections = earlier.flat_map(|earlier| &earlier.sections);
        sections.flat_map(|section| section.steps())
    }
}

impl<'a> JobSection<'a> {
    pub(crate) fn steps(&self) -> impl Iterator<Item = &JobStep<'a>> {
        self.items.iter().filter_map(|item| match item {
            JobItem::Step(step) => Some(step),
            JobItem::Text(_) | JobItem::Figure(_) => None,
        })
    }
}

impl<'a> StepContent<'a> {
    /// Its actions in order of execution. Each is followed by the actions of the machine's own instruction for
    /// it.
    pub(crate) fn all_actions(&self) -> impl Iterator<Item = &Action<'a>> {
        self.actions
            .iter()
            .flat_map(|action| std::iter::once(action).chain(&action.inner))
    }

    /// The torque tool that it names.
    pub(crate) fn torque_tool(&self) -> Option<&'a Tool> {
        self.tools().find(|tool| tool.torque.is_some())
    }

    /// The extension or crowfoot that it names.
    pub(crate) fn extension(&self) -> Option<&'a Tool> {
        self.tools().find(|tool| tool.extends.is_some())
    }

    /// The shop's container for a fluid that it drains or fills, unless it names a container itself.
    pub(crate) fn container_for(
        &self,
        shop: &'a Shop,
        verb: Verb,
        fluid: &Fluid,
    ) -> Option<&'a Tool> {
        let names_one = self.tools().any(|tool| tool.container);
        shop.container_for(verb, fluid).filter(|_| !names_one)
    }

    /// The torque tool for a fastener that it tightens: the one that it names, otherwise the shop's tool
    /// for the fastener, with the extension that the step names. `None` if no tool covers the torque.
    pub(crate) fn torque_tool_for(&self, shop: &'a Shop, part: &Part) -> Option<&'a Tool> {
        self.torque_tool()
            .or_else(|| match shop.torque_tool_with(self.extension(), part) {
                Some(CribChoice::Covers(tool)) => Some(tool),
                _ => None,
            })
    }

    fn tools(&self) -> impl Iterator<Item = &'a Tool> {
        self.actions.iter().filter_map(|action| match action.thing {
            Thing::Tool(tool) => Some(tool),
            _ => None,
        })
    }
}
