//! A summary of a job, for pages about many jobs.

use super::kit::tools_of;
use super::safety::cautions;
use super::search::SearchPiece;
use crate::finding::FileId;
use crate::job::{Job, ReferenceTarget, RemediedFault, Thing};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::shop::{Caution, ConditionId, Machine, PartId};
use std::collections::BTreeSet;

/// What is kept of a job after its check: everything that front pages, charts and lists print about
/// it, and what decides whether its sheets are up to date. A summary takes about a hundredth of a
/// whole job's memory, so that ten thousand fit.
#[derive(Clone, Debug)]
pub(crate) struct Summary<'a> {
    pub(crate) procedure: &'a Procedure,
    pub(crate) machine: &'a Machine,
    /// The time allowed for the job, in minutes.
    pub(crate) minutes: Option<u32>,
    /// The files that the job is built from. An error in any of them is an error of the job.
    pub(crate) sources: BTreeSet<FileId>,
    /// The files of the procedures and fault tables that the job refers to, and of fault tables
    /// that lead to it. Its sheets print their titles.
    pub(crate) referenced_files: BTreeSet<FileId>,
    /// The paths of the job's figures in the tree.
    pub(crate) figures: BTreeSet<&'a str>,
    /// The ids of the procedures that the job refers to.
    pub(crate) referenced_procedures: BTreeSet<&'a str>,
    /// The ids of the fault tables that the job refers to, or that lead to it.
    pub(crate) faults: BTreeSet<&'a str>,
    /// The fault tables whose remedy is this job.
    pub(crate) remedied_faults: Vec<RemediedFault<'a>>,
    /// The cautions that apply to the job, the most severe first.
    pub(crate) cautions: Vec<&'a Caution>,
    /// The things that the job's own steps act on or use, each with the numbers of these steps.
    pub(crate) uses: Vec<(Thing<'a>, Vec<u32>)>,
    /// The parts that the job's own steps renew.
    pub(crate) renewed: BTreeSet<PartId>,
    /// The conditions that the job's steps confirm, each with the procedure that the step is written in.
    pub(crate) confirmed: Vec<(ConditionId, &'a Procedure)>,
    /// The job's search entries, one per language. Empty if no search index is written.
    pub(crate) search: Vec<SearchPiece>,
    /// The other procedures whose sections are part of the job.
    pub(crate) included_procedures: Vec<&'a Procedure>,
}

/// The paths of the figures on a job's sheets: those that the author put there, and those that show what steps touch.
fn figures_of<'j, 'a>(job: &'j Job<'a>) -> impl Iterator<Item = &'a str> + 'j {
    let shown = job.shown.legends();
    let shown = shown.filter_map(|legend| legend.picture.as_deref());
    job.figures.values().copied().chain(shown)
}

impl<'a> Summary<'a> {
    #[must_use]
    pub(crate) fn of(job: &Job<'a>) -> Summary<'a> {
        let mut summary = Summary {
            procedure: job.procedure,
            machine: job.machine,
            minutes: job.minutes,
            sources: job.sources.clone(),
            referenced_files: BTreeSet::new(),
            figures: figures_of(job).collect(),
            referenced_procedures: BTreeSet::new(),
            faults: BTreeSet::new(),
            remedied_faults: job.remedied_faults.clone(),
            cautions: cautions([job]),
            uses: Vec::new(),
            renewed: BTreeSet::new(),
            confirmed: Vec::new(),
            search: Vec::new(),
            included_procedures: Vec::new(),
        };
        for place in job.places.values() {
            match place {
                ReferenceTarget::Procedure(procedure) => {
                    summary.referenced_files.insert(procedure.file);
                    summary.referenced_procedures.insert(&procedure.id);
                }
                ReferenceTarget::Fault(fault) => {
                    summary.referenced_files.insert(fault.file);
                    summary.faults.insert(&fault.id);
                }
                ReferenceTarget::Step(_) | ReferenceTarget::Figure(_) => {}
            }
        }
        // The other sheet of a pair, and what follows.
        let earlier = job.earlier.iter().map(|earlier| earlier.procedure);
        let others = earlier.chain(job.continued_in);
        for other in others.chain(job.follow_on.iter().copied()) {
            summary.referenced_files.insert(other.file);
            summary.referenced_procedures.insert(&other.id);
        }
        for cure in &job.remedied_faults {
            summary.referenced_files.insert(cure.fault.file);
            summary.faults.insert(&cure.fault.id);
        }
        // A step counts for the procedure that it is written in. Steps that come from another
        // procedure are not the job's own.
        for step in job.steps() {
            for action in step.all_actions() {
                if let (Verb::Confirm, Thing::Condition(condition)) = (action.verb, action.thing) {
                    summary.record_confirmed(condition.id, step.origin);
                }
            }
            if step.origin.id != job.procedure.id {
                continue;
            }
            for action in step.all_actions() {
                summary.record_use(action.thing, step.number);
                if let (Verb::Renew, Thing::Part(part)) = (action.verb, action.thing) {
                    summary.renewed.insert(part.id);
                }
                // Things that an action needs without naming them: its tool, the supply for a
                // fluid.
                for tool in tools_of(job.shop, step, action) {
                    summary.record_use(Thing::Tool(tool), step.number);
                }
                if let (Verb::Fill, Thing::Fluid(fluid)) = (action.verb, action.thing)
                    && let Some(supply) = job.shop.supply_of(fluid)
                {
                    summary.record_use(Thing::Supply(supply), step.number);
                }
            }
            for caution in &step.cautions {
                summary.record_use(Thing::Caution(caution), step.number);
            }
        }
        for section in &job.sections {
            let origin = section.origin;
            let is_known = summary
                .included_procedures
                .iter()
                .any(|known| known.id == origin.id);
            if origin.id != job.procedure.id && !is_known {
                summary.included_procedures.push(origin);
            }
        }
        summary
    }

    /// Whether the job uses anything that the where-used pages list.
    #[must_use]
    pub(crate) fn uses_any(&self) -> bool {
        !self.uses.is_empty() || !self.included_procedures.is_empty()
    }

    fn record_confirmed(&mut self, condition: ConditionId, origin: &'a Procedure) {
        let is_same =
            |(id, known): &(ConditionId, &Procedure)| *id == condition && known.file == origin.file;
        if !self.confirmed.iter().any(is_same) {
            self.confirmed.push((condition, origin));
        }
    }

    fn record_use(&mut self, thing: Thing<'a>, step: u32) {
        let is_looked_up = matches!(
            thing,
            Thing::Part(_)
                | Thing::Reading(_)
                | Thing::Tool(_)
                | Thing::Supply(_)
                | Thing::Caution(_)
        );
        if !is_looked_up {
            return;
        }
        let is_same = |known: &Thing<'_>| {
            std::mem::discriminant(known) == std::mem::discriminant(&thing)
                && known.key() == thing.key()
        };
        match self.uses.iter_mut().find(|(known, _)| is_same(known)) {
            Some((_, steps)) if steps.last() == Some(&step) => {}
            Some((_, steps)) => steps.push(step),
            None => self.uses.push((thing, vec![step])),
        }
    }
}
