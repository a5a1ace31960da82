//! The results of a check, each of which can be made again without the others.

use super::Outdated;
use crate::Sources;
use crate::conclude;
use crate::finding::{FileId, Finding, Findings};
use crate::job::{self, JobFactory, UnresolvedName, report_unresolved};
use crate::procedure::Procedure;
use crate::rules::{self, Waived};
use crate::shop::{Machine, MachineId};
use crate::trade::Day;
use crate::tree::Source;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// A procedure or fault table on a machine, by its file.
type JobKey = (FileId, MachineId);

/// The results of a check that are still right.
#[derive(Debug, Default)]
pub(crate) struct Recheck {
    /// What is found in the text of each file.
    texts: BTreeMap<FileId, Findings>,
    /// What is found in the shop's records.
    records: Option<Findings>,
    jobs: BTreeMap<JobKey, JobResult>,
    faults: BTreeMap<JobKey, JobResult>,
}

/// What is found in a job.
#[derive(Debug)]
struct JobResult {
    unresolved: Vec<UnresolvedName>,
    /// While it is made.
    made: Findings,
    /// In its rehearsal.
    judged: Findings,
    waived: Waived,
}

impl JobResult {
    /// Whether any finding has a place in one of these files.
    fn is_in(&self, outdated: &Outdated) -> bool {
        is_in(&self.made, outdated) || is_in(&self.judged, outdated)
    }
}

/// Whether any finding has a place in a file that has moved.
fn is_in(findings: &Findings, outdated: &Outdated) -> bool {
    let mut marks = findings.iter().flat_map(Finding::marks);
    marks.any(|mark| outdated.moved.contains(&mark.span.file))
}

/// Says that a check was given up.
#[derive(Debug)]
struct GivenUp;

impl Recheck {
    /// Drops the results that are outdated.
    pub(crate) fn drop_outdated(&mut self, outdated: &Outdated) {
        if outdated.all {
            *self = Recheck::default();
            return;
        }
        let is_current = |key: &JobKey, result: &mut JobResult| {
            !outdated.procedures.contains(&key.0)
                && !outdated.machines.contains(&key.1)
                && !result.is_in(outdated)
        };
        self.jobs.retain(is_current);
        self.faults.retain(is_current);
        self.texts
            .retain(|file, findings| !outdated.texts.contains(file) && !is_in(findings, outdated));
        let is_moved = |findings: &Findings| is_in(findings, outdated);
        if outdated.records || self.records.as_ref().is_some_and(is_moved) {
            self.records = None;
        }
    }

    /// Makes the results that are missing. Returns the findings: those of [`check_on`](crate::check_on), without the edits
    /// that a rehearsal has to try out.
    ///
    /// `None` if `is_given_up` returned true meanwhile. What was made until then is kept.
    pub(crate) fn check(
        &mut self,
        sources: &Sources,
        on: Option<Day>,
        is_given_up: &(dyn Fn() -> bool + Sync),
    ) -> Option<Findings> {
        let (tree, shop) = (&sources.tree, &sources.shop);
        let (procedures, faults) = (&sources.procedures, &sources.faults);
        let records = &mut self.records;
        let texts = &mut self.texts;
        rayon::join(
            || judge_texts(texts, sources, is_given_up),
            || {
                records.get_or_insert_with(|| {
                    let mut findings = Findings::new();
                    rules::judge_shop(shop, on, &mut findings);
                    findings
                });
            },
        );
        job::with_factory(tree, shop, procedures, faults, |factory| {
            self.check_jobs(sources, factory, is_given_up).ok()
        })
    }

    fn check_jobs<'s>(
        &mut self,
        sources: &'s Sources,
        factory: JobFactory<'s, '_>,
        is_given_up: &(dyn Fn() -> bool + Sync),
    ) -> Result<Findings, GivenUp> {
        let mut findings = sources.findings.clone();
        for found in self.texts.values() {
            findings.extend(found.clone());
        }
        findings.extend(self.records.clone().unwrap_or_default());
        let (procedures, faults) = factory.makeable(&mut findings);
        let faults = requests(sources, faults);
        let jobs = requests(sources, procedures);
        make(
            &mut self.faults,
            &faults,
            is_given_up,
            |procedure, machine| {
                let made = factory.make(procedure, machine);
                let mut judged = Findings::new();
                rules::judge_fault(&made.job, &mut judged);
                JobResult {
                    unresolved: made.unresolved,
                    made: made.findings,
                    judged,
                    waived: Waived::new(),
                }
            },
        );
        let prefixes = rules::prefix_cache();
        make(&mut self.jobs, &jobs, is_given_up, |procedure, machine| {
            let made = factory.make(procedure, machine);
            let mut judged = Findings::new();
            let (_, waived) = prefixes.rehearse(&made.job, &mut judged);
            JobResult {
                unresolved: made.unresolved,
                made: made.findings,
                judged,
                waived,
            }
        });
        if is_given_up() {
            return Err(GivenUp);
        }
        let of_faults = results(&self.faults, &faults);
        let of_jobs = results(&self.jobs, &jobs);
        let mut unresolved = Vec::new();
        let mut waived = Waived::new();
        for result in of_faults.iter().chain(&of_jobs) {
            findings.extend(result.made.clone());
            unresolved.extend(result.unresolved.iter().cloned());
            waived.extend(result.waived.iter().cloned());
        }
        report_unresolved(unresolved, &mut findings);
        for result in of_faults.iter().chain(&of_jobs) {
            findings.extend(result.judged.clone());
        }
        conclude(sources, &waived, &mut findings);
        if is_given_up() {
            return Err(GivenUp);
        }
        Ok(findings)
    }
}

/// Judges the text of the files whose results are missing.
fn judge_texts(
    texts: &mut BTreeMap<FileId, Findings>,
    sources: &Sources,
    is_given_up: &(dyn Fn() -> bool + Sync),
) {
    let files = sources.tree.files.iter();
    let files: Vec<&Source> = files.filter(|file| !texts.contains_key(&file.id)).collect();
    if files.is_empty() {
        return;
    }
    let (tree, shop) = (&sources.tree, &sources.shop);
    let (procedures, faults) = (&sources.procedures, &sources.faults);
    let judged = rules::judge_text_of(tree, shop, procedures, faults, &files, || !is_given_up());
    for (file, found) in files.into_iter().zip(judged) {
        if let Some(found) = found {
            texts.insert(file.id, found);
        }
    }
}

/// Procedures on each of their machines.
fn requests<'s>(
    sources: &'s Sources,
    procedures: impl IntoIterator<Item = &'s Procedure>,
) -> Vec<(&'s Procedure, &'s Machine)> {
    let requests = procedures.into_iter().flat_map(|procedure| {
        let machines = procedure.machines.iter();
        machines.map(move |id| (procedure, &sources.shop.machines[id.value]))
    });
    requests.collect()
}

fn key(request: &(&Procedure, &Machine)) -> JobKey {
    (request.0.file, request.1.index)
}

/// Makes the results that are missing, in parallel.
fn make<'s>(
    results: &mut BTreeMap<JobKey, JobResult>,
    requests: &[(&'s Procedure, &'s Machine)],
    is_given_up: &(dyn Fn() -> bool + Sync),
    make: impl Fn(&'s Procedure, &'s Machine) -> JobResult + Sync,
) {
    let missing = requests.iter();
    let missing: Vec<_> = missing
        .filter(|request| !results.contains_key(&key(request)))
        .collect();
    let new: Vec<(JobKey, JobResult)> = missing
        .into_par_iter()
        .filter(|_| !is_given_up())
        .map(|request| (key(request), make(request.0, request.1)))
        .collect();
    results.extend(new);
}

/// The results of some jobs, in their order.
fn results<'r>(
    results: &'r BTreeMap<JobKey, JobResult>,
    requests: &[(&Procedure, &Machine)],
) -> Vec<&'r JobResult> {
    let requests = requests.iter();
    requests
        .filter_map(|request| results.get(&key(request)))
        .collect()
}
