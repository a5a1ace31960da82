//! The first sections of jobs, rehearsed once for all jobs that begin with them.

use super::{Waived, judge, judge_action, rehearse};
use crate::dry_run::{self, Rehearsal};
use crate::finding::Findings;
use crate::job::{Job, Section};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// The rehearsed first sections of jobs.
///
/// A [`Scene`](crate::dry_run::Scene) shows a rule only the machine and what was done before, not the rest
/// of the job. So where nothing is found in the first sections of one job, nothing is found in the same
/// sections of the next.
#[derive(Debug, Default)]
pub struct PrefixCache<'a> {
    /// By the address of the first section, which the entry keeps alive. An entry has no rehearsal
    /// where something was found: each job has to report that.
    known: Mutex<BTreeMap<usize, Entry<'a>>>,
}

type Entry<'a> = (Arc<Section<'a>>, Option<Arc<Rehearsal<'a>>>);

impl<'a> PrefixCache<'a> {
    /// As [`rehearse`], for a job whose first sections may be rehearsed already.
    pub fn rehearse(&self, job: &Job<'a>, findings: &mut Findings) -> (Rehearsal<'a>, Waived) {
        match self.prefix(job).filter(|_| job.is_whole) {
            Some(prefix) => judge(job, job.opening, Some(&prefix), findings),
            None => rehearse(job, findings),
        }
    }

    fn prefix(&self, job: &Job<'a>) -> Option<Arc<Rehearsal<'a>>> {
        let first = job.sections.first().filter(|_| job.opening > 0)?;
        let key = Arc::as_ptr(first).addr();
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, rehearsal)) = known().get(&key) {
            return rehearsal.clone();
        }
        let mut found = Findings::new();
        let rehearsal = dry_run::go_on(job, 0..job.opening, None, |scene| {
            judge_action(scene, &mut found);
        });
        let rehearsal = found.is_empty().then(|| Arc::new(rehearsal));
        known().insert(key, (Arc::clone(first), rehearsal.clone()));
        rehearsal
    }
}
