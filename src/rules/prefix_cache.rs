//! The prefixes of jobs, rehearsed once for all jobs that begin with them.

use super::judge::Judge;
use super::waivers::Waived;
use crate::cache::Memo;
use crate::finding::Findings;
use crate::job::{Job, Prefix};
use crate::rehearsal::{self, Rehearsal};
use std::sync::Arc;

/// The rehearsals of the prefixes of one run's jobs.
///
/// A [`Scene`](crate::rehearsal::Scene) shows a rule only the machine and what was done before, not the rest
/// of the job. So where nothing is found in the prefix of one job, nothing is found in the same
/// prefix of the next.
pub(crate) struct PrefixCache<'a> {
    judge: &'static Judge,
    /// None for a prefix in which something was found: each job has to report that.
    rehearsals: Memo<Option<Arc<Rehearsal<'a>>>>,
}

/// Approximate maximum number of cached prefixes. Even a large shop has fewer.
const MOST_PREFIXES: usize = 4096;

impl<'a> PrefixCache<'a> {
    pub(super) fn new(judge: &'static Judge) -> PrefixCache<'a> {
        PrefixCache {
            judge,
            rehearsals: Memo::new("rehearsals of prefixes", MOST_PREFIXES, |_| 1),
        }
    }

    /// Rehearses a job and judges it. Its prefix may have been rehearsed for another job.
    pub(crate) fn rehearse(
        &self,
        job: &Job<'a>,
        findings: &mut Findings,
    ) -> (Rehearsal<'a>, Waived) {
        let prefix = job.prefix.filter(|_| job.is_complete);
        let known = prefix.and_then(|prefix| Some((prefix, self.rehearsal(job, prefix)?)));
        match known {
            Some((prefix, begun)) => {
                let (first, begun) = (prefix.sections, Some(&*begun));
                self.judge.rehearse_from(job, first, begun, findings)
            }
            None => self.judge.rehearse_from(job, 0, None, findings),
        }
    }

    fn rehearsal(&self, job: &Job<'a>, prefix: Prefix) -> Option<Arc<Rehearsal<'a>>> {
        self.rehearsals.get_or_make(&prefix.id, || {
            let mut found = Findings::new();
            let rehearsal = rehearsal::rehearse_from(job, 0..prefix.sections, None, |scene| {
                self.judge.judge_action(scene, &mut found);
            });
            found.is_empty().then(|| Arc::new(rehearsal))
        })
    }
}
