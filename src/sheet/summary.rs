//! What the pages that are drawn from many jobs need of one.

use super::kit::tool_of;
use super::safety::cautions;
use super::search::SearchPiece;
use crate::finding::FileId;
use crate::job::{Cure, Job, ReferenceTarget, Thing};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::shop::{Caution, Machine};
use std::collections::BTreeSet;

/// What is kept of a job once it was judged: all that front pages, charts and lists say of it, and
/// what its own sheets are made from. A shop's ten thousand jobs fit where a hundred whole ones do.
#[derive(Clone, Debug)]
pub(crate) struct Summary<'a> {
    /// The procedure.
    pub(crate) procedure: &'a Procedure,
    /// The machine.
    pub(crate) machine: &'a Machine,
    /// Minutes allowed for all of it.
    pub(crate) minutes: Option<u32>,
    /// Every file that has a part in it: a fault in one of them is a fault of the job.
    pub(crate) sources: BTreeSet<FileId>,
    /// The files of what it refers to, and of fault tables that lead to it: its sheets name them.
    pub(crate) also: BTreeSet<FileId>,
    /// Its figures, by their paths in the tree.
    pub(crate) figures: BTreeSet<&'a str>,
    /// Procedures that it refers to, on its machine.
    pub(crate) refers_to: BTreeSet<&'a str>,
    /// Fault tables that it refers to, or that lead to it.
    pub(crate) faults: BTreeSet<&'a str>,
    /// The fault tables that lead to it.
    pub(crate) cures: Vec<Cure<'a>>,
    /// The cautions it meets, the most severe first.
    pub(crate) cautions: Vec<&'a Caution>,
    /// What its own steps do something to or with, each with the numbers of the steps.
    pub(crate) uses: Vec<(Thing<'a>, Vec<u32>)>,
    /// What can be found of it, in each of the shop's languages; nothing where nobody will look.
    pub(crate) search: Vec<SearchPiece>,
    /// Procedures that it takes over in full.
    pub(crate) takes_over: Vec<&'a Procedure>,
}

impl<'a> Summary<'a> {
    /// The summary of a job.
    #[must_use]
    pub(crate) fn of(job: &Job<'a>) -> Summary<'a> {
        let mut summary = Summary {
            procedure: job.procedure,
            machine: job.machine,
            minutes: job.minutes,
            sources: job.sources.clone(),
            also: BTreeSet::new(),
            figures: job.figures.values().copied().collect(),
            refers_to: BTreeSet::new(),
            faults: BTreeSet::new(),
            cures: job.cures.clone(),
            cautions: cautions([job]),
            uses: Vec::new(),
            search: Vec::new(),
            takes_over: Vec::new(),
        };
        for place in job.places.values() {
            match place {
                ReferenceTarget::Procedure(procedure) => {
                    summary.also.insert(procedure.file);
                    summary.refers_to.insert(&procedure.id);
                }
                ReferenceTarget::Fault(fault) => {
                    summary.also.insert(fault.file);
                    summary.faults.insert(&fault.id);
                }
                ReferenceTarget::Step(_) | ReferenceTarget::Figure(_) => {}
            }
        }
        for cure in &job.cures {
            summary.also.insert(cure.fault.file);
            summary.faults.insert(&cure.fault.id);
        }
        // A step counts for the procedure it is written in: what a procedure only takes over from
        // another is not its own.
        for step in job.steps() {
            if step.origin.id != job.procedure.id {
                continue;
            }
            for action in step.all_actions() {
                summary.use_of(action.thing, step.number);
                // What an action needs without naming it: its tool, what a fluid is filled with.
                if let Some(tool) = tool_of(job.shop, action) {
                    summary.use_of(Thing::Tool(tool), step.number);
                }
                if let (Verb::Fill, Thing::Fluid(fluid)) = (action.verb, action.thing)
                    && let Some(supply) = job.shop.supply_of(fluid)
                {
                    summary.use_of(Thing::Supply(supply), step.number);
                }
            }
            for caution in &step.cautions {
                summary.use_of(Thing::Caution(caution), step.number);
            }
        }
        for section in &job.sections {
            let origin = section.origin;
            let is_known = summary.takes_over.iter().any(|one| one.id == origin.id);
            if origin.id != job.procedure.id && !is_known {
                summary.takes_over.push(origin);
            }
        }
        summary
    }

    /// Whether it has anything to do with a thing that can be looked up.
    #[must_use]
    pub(crate) fn uses_any(&self) -> bool {
        !self.uses.is_empty() || !self.takes_over.is_empty()
    }

    fn use_of(&mut self, thing: Thing<'a>, step: u32) {
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
        let is_same = |other: &Thing<'_>| {
            std::mem::discriminant(other) == std::mem::discriminant(&thing)
                && other.key() == thing.key()
        };
        match self.uses.iter_mut().find(|(other, _)| is_same(other)) {
            Some((_, steps)) if steps.last() == Some(&step) => {}
            Some((_, steps)) => steps.push(step),
            None => self.uses.push((thing, vec![step])),
        }
    }
}
