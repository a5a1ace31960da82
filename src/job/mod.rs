//! A procedure on one machine becomes a [`Job`]: every name resolved, every
//! step numbered.
//!
//! Comes in: the shop, its procedures and fault tables. Goes out: one job for
//! each procedure and machine, with the procedures that begin it, that it does and that finish
//! it written out in full, the way back derived where it is asked for, and every
//! reference turned into a number. Names that can't be resolved are findings; a
//! job that has one is still made, so that the rest of it is checked too. It
//! does not judge the order of anything: that is `rehearsal`'s and `rules`'.

mod build;
mod chain;
mod faults;
mod hazards;
mod names;
mod places;
mod reverse;
mod rules;
mod shared;
mod written;

use crate::cache::Fingerprint;
use crate::finding::{FileId, Findings, Span};
pub(crate) use crate::model::{Action, Thing};
use crate::procedure::Procedure;
use crate::prose::{Image, Inline, ProseBlock};
use crate::shop::{Caution, Machine, Shop, ThingId};
use crate::tree::Tree;
pub(crate) use rules::RULES;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

/// A procedure on one machine.
#[derive(Debug)]
pub(crate) struct Job<'a> {
    /// The shop.
    pub(crate) shop: &'a Shop,
    /// The machine.
    pub(crate) machine: &'a Machine,
    /// The procedure.
    pub(crate) procedure: &'a Procedure,
    /// The sections of all procedures in it, in order of doing.
    pub(crate) sections: Vec<Arc<JobSection<'a>>>,
    /// The first of them, where other jobs on the machine may begin with the same ones.
    pub(crate) prefix: Option<Prefix>,
    /// Where each reference leads, by the reference's own place.
    pub(crate) places: BTreeMap<Span, ReferenceTarget<'a>>,
    /// The figures, by the path they are referenced with and the file that does.
    pub(crate) figures: BTreeMap<Span, &'a str>,
    /// What it leaves undone on purpose.
    pub(crate) left: Vec<Left<'a>>,
    /// Minutes allowed for all of it; none where any procedure in it has none.
    pub(crate) minutes: Option<u32>,
    /// Every file that has a part in it: a fault in one of them is a fault of the job.
    pub(crate) sources: BTreeSet<FileId>,
    /// The fault tables of this machine that lead to it.
    pub(crate) cures: Vec<Cure<'a>>,
    /// Whether all of it could be written out; if not, what a rehearsal would say of it is noise.
    pub(crate) is_whole: bool,
}

/// A thing that a job leaves undone on purpose.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Left<'a> {
    /// The thing.
    pub(crate) thing: ThingId,
    /// Its name.
    pub(crate) name: &'a str,
    /// Why it is left.
    pub(crate) why: &'a str,
}

/// The sections that a job begins with, before its own: as a rule they make the machine safe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Prefix {
    /// How many sections there are.
    pub(crate) sections: usize,
    /// Of the machine and the procedures that the sections were written in: jobs of one run with the
    /// same id begin with the same sections.
    pub(crate) id: Fingerprint,
}

/// A fault table that leads to a job.
#[derive(Clone, Debug)]
pub(crate) struct Cure<'a> {
    /// The fault table.
    pub(crate) fault: &'a Procedure,
    /// The numbers of its causes that the job mends.
    pub(crate) causes: Vec<u32>,
}

/// When a section is done, seen from the job's own procedure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Phase {
    /// Before it.
    Begin,
    /// As part of it.
    Own,
    /// After it.
    Finish,
}

/// A section of a job.
#[derive(Debug)]
pub(crate) struct JobSection<'a> {
    /// Its title.
    pub(crate) title: &'a str,
    /// Whether it goes on with a section that something else was done in the middle of.
    pub(crate) is_continued: bool,
    /// The procedure it was written in.
    pub(crate) origin: &'a Procedure,
    /// When it is done.
    pub(crate) phase: Phase,
    /// What stands in it.
    pub(crate) items: Vec<JobItem<'a>>,
}

/// Something in a section.
#[derive(Clone, Debug)]
pub(crate) enum JobItem<'a> {
    /// Text, a plain list.
    Text(&'a ProseBlock),
    /// A figure by itself.
    Figure(&'a Image),
    /// A step.
    Step(JobStep<'a>),
}

/// A step of a job: a [`StepContent`] with its number.
#[derive(Clone, Debug)]
pub(crate) struct JobStep<'a> {
    /// Its number in the job, from 1.
    pub(crate) number: u32,
    /// What must be read before it.
    pub(crate) cautions: Vec<&'a Caution>,
    /// What is done in it.
    pub(crate) content: Arc<StepContent<'a>>,
}

impl<'a> Deref for JobStep<'a> {
    type Target = StepContent<'a>;

    fn deref(&self) -> &StepContent<'a> {
        &self.content
    }
}

/// What is done in a step: as it was written, the same in every job on its machine that it is part of.
#[derive(Debug)]
pub(crate) struct StepContent<'a> {
    /// The procedure it was written in.
    pub(crate) origin: &'a Procedure,
    /// Its id.
    pub(crate) id: Option<&'a str>,
    /// What is done.
    pub(crate) text: Cow<'a, [Inline]>,
    /// Further paragraphs and points.
    pub(crate) notes: &'a [Vec<Inline>],
    /// Its figures.
    pub(crate) figures: &'a [Image],
    /// Its actions, in reading order of its text and notes.
    pub(crate) actions: Vec<Action<'a>>,
    /// Where it was written; for a derived step, the heading that asked for it.
    pub(crate) span: Span,
    /// Rules it breaks on purpose, and why.
    pub(crate) excuses: &'a [(String, String)],
    /// Whether the compiler wrote it.
    pub(crate) derived: bool,
}

/// Where a reference leads.
#[derive(Clone, Copy, Debug)]
pub(crate) enum ReferenceTarget<'a> {
    /// A step of this job.
    Step(u32),
    /// Another procedure, on this machine.
    Procedure(&'a Procedure),
    /// A fault table of this machine.
    Fault(&'a Procedure),
    /// A figure of this job, by its path from the tree's root.
    Figure(&'a str),
}

/// What a job is called in a finding: "`float-bowl` on `tarn-t7`".
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

impl<'a> Job<'a> {
    /// What it is called.
    #[must_use]
    pub(crate) fn name(&self) -> JobName<'a> {
        JobName {
            procedure: &self.procedure.id,
            machine: &self.machine.id,
        }
    }

    /// Whether its author said that a thing is left as it is.
    #[must_use]
    pub(crate) fn is_left(&self, thing: impl Into<ThingId>) -> bool {
        let thing = thing.into();
        self.left.iter().any(|left| left.thing == thing)
    }

    /// The job's steps, in order.
    pub(crate) fn steps(&self) -> impl Iterator<Item = &JobStep<'a>> {
        self.sections.iter().flat_map(|section| section.steps())
    }
}

impl<'a> JobSection<'a> {
    /// The section's steps, in order.
    pub(crate) fn steps(&self) -> impl Iterator<Item = &JobStep<'a>> {
        self.items.iter().filter_map(|item| match item {
            JobItem::Step(step) => Some(step),
            JobItem::Text(_) | JobItem::Figure(_) => None,
        })
    }
}

impl<'a> StepContent<'a> {
    /// Its actions with those of the machine's own instructions after each, in order of doing.
    pub(crate) fn all_actions(&self) -> impl Iterator<Item = &Action<'a>> {
        self.actions
            .iter()
            .flat_map(|action| std::iter::once(action).chain(&action.inner))
    }
}

/// All jobs of a shop, or what was made of each.
#[derive(Debug)]
pub(crate) struct Jobs<'a, T = Job<'a>> {
    /// One for each procedure and machine, in order of procedure and then machine.
    pub(crate) jobs: Vec<T>,
    /// One for each fault table and machine: its steps are causes, and it is not done but read.
    pub(crate) faults: Vec<Job<'a>>,
}

/// Makes a job of each procedure, and of each fault table, on each machine it is for.
///
/// The procedures and fault tables are all that were read, in the order in which they were read: they
/// name each other by their ids.
pub(crate) fn make<'a>(
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    findings: &mut Findings,
) -> Jobs<'a> {
    each(tree, shop, procedures, faults, findings, |job| job)
}

/// As [`make`], handing each job to `take` as soon as it is made: of what `take` does not keep there
/// are never more at a time than there are threads.
pub(crate) fn each<'a, T: Send>(
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    findings: &mut Findings,
    take: impl Fn(Job<'a>) -> T + Sync,
) -> Jobs<'a, T> {
    let library = chain::Library::new(procedures, faults);
    let sound = library.check(shop, findings);
    let on_machines = |procedure: &'a Procedure| {
        let machines = procedure.machines.iter();
        let machines = machines.map(|id| &shop.machines[id.value]);
        machines.map(move |machine| (procedure, machine))
    };
    let whole = faults.iter().filter(|fault| fault.whole);
    let asked: Vec<(&Procedure, &Machine)> = whole.flat_map(on_machines).collect();
    let build = build::Build {
        tree,
        shop,
        library: &library,
    };
    let mut unresolved = Vec::new();
    let faults = build.all(&asked, &mut unresolved, findings, |job| job);
    let cures = faults::cures(&faults);
    let sound = sound.into_iter().map(|id| library.procedure(id));
    let asked: Vec<(&Procedure, &Machine)> = sound.flat_map(on_machines).collect();
    let jobs = build.all(&asked, &mut unresolved, findings, |mut job| {
        let key = (job.machine.index, job.procedure.file);
        job.cures = cures.get(&key).cloned().unwrap_or_default();
        take(job)
    });
    names::report(unresolved, findings);
    Jobs { jobs, faults }
}

/// Makes jobs once more, one at a time, of sources that were judged: what was wrong with them has
/// been said.
#[derive(Clone, Copy)]
pub(crate) struct JobFactory<'a, 'l> {
    build: build::Build<'a, 'l>,
    parts: &'l shared::SharedParts<'a>,
    files: &'l [FileId],
}

impl std::fmt::Debug for JobFactory<'_, '_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("JobFactory").finish_non_exhaustive()
    }
}

/// Does something with jobs made by a [`JobFactory`].
pub(crate) fn again<'a, T>(
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    action: impl FnOnce(JobFactory<'a, '_>) -> T,
) -> T {
    let library = chain::Library::new(procedures, faults);
    let build = build::Build {
        tree,
        shop,
        library: &library,
    };
    let files = build::shared(tree);
    let parts = shared::SharedParts::new(&library);
    action(JobFactory {
        build,
        parts: &parts,
        files: &files,
    })
}

impl<'a> JobFactory<'a, '_> {
    /// A job, with the fault tables that lead to it.
    #[must_use]
    pub(crate) fn job(
        &self,
        procedure: &'a Procedure,
        machine: &'a Machine,
        cures: Vec<Cure<'a>>,
    ) -> Job<'a> {
        let order = self.build.library.order(procedure);
        let JobFactory {
            build,
            parts,
            files,
        } = *self;
        let (mut job, _, _) = build::one(build, files, parts, &order, procedure, machine);
        job.cures = cures;
        job
    }
}
