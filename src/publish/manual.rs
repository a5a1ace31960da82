//! The bound manual: of the whole shop, of some machines, of some systems.

use super::publisher::Publisher;
use super::run::PublishRun;
use super::{Outlet, PublishError, Published, Selection};
use crate::cache::Fingerprint;
use crate::finding::Findings;
use crate::job::{self, Job};
use crate::manual::{JobAndRehearsal, Manual, ManualContent};
use crate::output::OutputKey;
use crate::page::{OutputContext, PageId};
use crate::rehearsal;
use crate::shop::Machine;
use crate::{CheckedJobs, Rehearsed, Sources};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// What a manual is of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Scope {
    /// Only of these machines; of all where it is empty.
    pub(crate) machines: Vec<String>,
    /// Only of these systems, by their folders; of all where it is empty. What begins, finishes or
    /// is done in a procedure of theirs comes along: a manual that does not say how a machine is
    /// made safe would be worse than none.
    pub(crate) systems: Vec<String>,
}

impl Scope {
    /// The manual as a page of the output.
    #[must_use]
    pub(crate) fn page(&self) -> PageId {
        PageId::Manual {
            machines: self.machines.clone(),
            systems: self.systems.clone(),
        }
    }

    fn takes_machine(&self, id: &str) -> bool {
        self.machines.is_empty() || self.machines.iter().any(|one| one == id)
    }

    /// What the manual is made of.
    fn content<'c, 'a>(
        &self,
        sources: &'a Sources,
        checked: &'c CheckedJobs<'a, Rehearsed<'a>>,
    ) -> ManualContent<'c, 'a> {
        let asked = |job: &Job<'_>| {
            let system = &job.procedure.system;
            self.takes_machine(&job.machine.id)
                && (self.systems.is_empty() || self.systems.contains(system))
        };
        let ids = |job: &Job<'_>| (job.machine.id.clone(), job.procedure.id.clone());
        let all = || checked.jobs.iter();
        let mut taken: BTreeSet<(String, String)> = all()
            .filter(|one| asked(&one.job))
            .map(|one| ids(&one.job))
            .collect();
        // What comes along may bring more along.
        loop {
            let chosen = all().filter(|one| taken.contains(&ids(&one.job)));
            let brought: Vec<(String, String)> = chosen
                .flat_map(|one| {
                    let machine = &one.job.machine.id;
                    let sections = one.job.sections.iter();
                    sections.map(|section| (machine.clone(), section.origin.id.clone()))
                })
                .collect();
            let before = taken.len();
            taken.extend(brought);
            if taken.len() == before {
                break;
            }
        }
        let jobs: Vec<JobAndRehearsal<'c, 'a>> = all()
            .filter(|one| taken.contains(&ids(&one.job)))
            .map(gone)
            .collect();
        // Of some systems: the fault tables that lead to a job of theirs.
        let leads = |fault: &Job<'_>| {
            let mut jobs = all().filter(|one| asked(&one.job));
            jobs.any(|one| {
                let mut cures = one.job.cures.iter();
                one.job.machine.id == fault.machine.id
                    && cures.any(|cure| cure.fault.id == fault.procedure.id)
            })
        };
        let faults = checked.faults.iter().filter(|one| {
            self.takes_machine(&one.job.machine.id) && (self.systems.is_empty() || leads(&one.job))
        });
        let has_job = |machine: &Machine| jobs.iter().any(|(job, _)| job.machine.id == machine.id);
        let machines = sources.shop.machines.values();
        ManualContent {
            machines: machines
                .filter(|machine| self.takes_machine(&machine.id))
                .filter(|machine| self.systems.is_empty() || has_job(machine))
                .collect(),
            faults: faults.map(gone).collect(),
            jobs,
            systems: self.systems.clone(),
            page: self.page(),
        }
    }
}

fn gone<'c, 'a>(one: &'c Rehearsed<'a>) -> JobAndRehearsal<'c, 'a> {
    (&one.job, &one.rehearsal)
}

/// The manual of a scope in the edition of a setting; none where the scope has no job and no fault
/// table.
///
/// It is plain data, for any medium.
#[must_use]
pub(crate) fn make(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
    scope: &Scope,
    output: &OutputContext,
) -> Option<Manual> {
    let content = scope.content(sources, checked);
    let is_empty = content.jobs.is_empty() && content.faults.is_empty();
    (!is_empty).then(|| crate::manual::manual(&sources.tree, &sources.shop, &content, output))
}

/// Makes the manual of a scope in each of the shop's languages and puts it in the output folder.
/// Nothing is set again when nothing in it has changed.
///
/// # Errors
///
/// When the output can't be written or the typesetter's folder can't be laid out; then nothing in
/// the output has changed.
pub(crate) fn bind(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
    scope: &Scope,
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let content = scope.content(sources, checked);
    if content.jobs.is_empty() && content.faults.is_empty() {
        return Ok(Published::default());
    }
    let figures = content.jobs.iter().chain(&content.faults);
    let figures = figures.flat_map(|(job, _)| job.figures.values().copied());
    let run = PublishRun {
        sources,
        jobs: &[],
        selection: &Selection::default(),
        made: BTreeSet::from([scope.page()]),
        figures: figures.collect(),
        is_whole: false,
    };
    let published = run.deliver(outlet, |publishers| {
        publishers
            .par_iter()
            .try_for_each(|publisher| publisher.manual(checked, scope))
    })?;
    Ok(Published {
        jobs: content.jobs.len(),
        ..published
    })
}

fn rehearsed(jobs: Vec<Job<'_>>) -> Vec<Rehearsed<'_>> {
    let jobs = jobs.into_par_iter();
    jobs.map(|job| {
        let rehearsal = rehearsal::rehearse(&job, |_| {});
        Rehearsed { job, rehearsal }
    })
    .collect()
}

/// The manual of the whole shop, along with its sheets.
pub(super) fn of_whole_shop(
    publishers: &[Publisher<'_, '_>],
    sources: &Sources,
) -> Result<(), PublishError> {
    let scope = Scope::default();
    let may_be_made = |publisher: &Publisher<'_, '_>| publisher.may_make(&scope);
    if !publishers.iter().any(may_be_made) {
        return Ok(());
    }
    // What was found was said when they were judged.
    let mut said = Findings::new();
    let Sources {
        tree,
        shop,
        procedures,
        faults,
        ..
    } = sources;
    let made = job::make(tree, shop, procedures, faults, &mut said);
    let all = CheckedJobs {
        rehearsed: made.jobs.len(),
        jobs: rehearsed(made.jobs),
        faults: rehearsed(made.faults),
        findings: said,
    };
    publishers
        .par_iter()
        .try_for_each(|publisher| publisher.manual(&all, &scope))
}

impl Publisher<'_, '_> {
    /// Whether a manual can be set, or one of an earlier run may stay.
    fn may_make(&self, scope: &Scope) -> bool {
        let path = format!("{}.pdf", self.paths.path(&scope.page()));
        self.runner.is_some() || self.staged.was_there(&path)
    }

    /// The manual of a scope, made or kept; what can't be set is a finding.
    pub(super) fn manual(
        &self,
        checked: &CheckedJobs<'_, Rehearsed<'_>>,
        scope: &Scope,
    ) -> Result<(), PublishError> {
        let path = self.paths.path(&scope.page());
        let file = format!("{path}.pdf");
        if !self.may_make(scope) {
            return Ok(());
        }
        let Some(manual) = make(self.sources, checked, scope, self.output) else {
            return Ok(());
        };
        let content = self.inputs.pdf().with(Fingerprint::of_data(&manual));
        let key = OutputKey {
            inputs: None,
            content: Some(content.finish()),
            tool: self.tool.map(str::to_owned),
        };
        // Along with the sheets it is one of the pages around them.
        if self.output.makes(&scope.page()) {
            self.note_sheet(&path);
        }
        let is_kept = self.keep_pdf(&path, &key, |old| old.content == key.content);
        if !is_kept && let Some(runner) = self.runner {
            match runner.set_manual(&manual, &self.output.edition.words, &path) {
                Ok(bytes) => self.staged.put(&file, &bytes, key)?,
                Err(error) => self.cant_set(&file, &error),
            }
        }
        self.progress.made();
        Ok(())
    }
}
