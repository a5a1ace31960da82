//! Publishes the bound manual: of the whole shop, of some machines or of some systems.

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
use crate::render::{RenderError, TypstRunner};
use crate::shop::Machine;
use crate::{CheckedJobs, Rehearsed, Sources};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::ops::Range;

/// The machines and systems that a manual covers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Scope {
    /// Machine ids. Empty for all machines.
    pub(crate) machines: Vec<String>,
    /// Folders of systems. Empty for all systems. Procedures that begin or finish a procedure of these
    /// systems, or that it includes, are in the manual too: a manual that does not say how a machine is
    /// made safe would be worse than none.
    pub(crate) systems: Vec<String>,
    /// Whether the reference of the rules is an appendix.
    pub(crate) rules_appendix: bool,
}

impl Scope {
    /// The id of the manual's page.
    #[must_use]
    pub(crate) fn page(&self) -> PageId {
        PageId::Manual {
            machines: self.machines.clone(),
            systems: self.systems.clone(),
        }
    }

    fn includes_machine(&self, id: &str) -> bool {
        self.machines.is_empty() || self.machines.iter().any(|machine| machine == id)
    }

    fn content<'c, 'a>(
        &self,
        sources: &'a Sources,
        checked: &'c CheckedJobs<'a, Rehearsed<'a>>,
    ) -> ManualContent<'c, 'a> {
        let is_selected = |job: &Job<'_>| {
            let system = &job.procedure.system;
            self.includes_machine(&job.machine.id)
                && (self.systems.is_empty() || self.systems.contains(system))
        };
        let ids = |job: &Job<'_>| (job.machine.id.clone(), job.procedure.id.clone());
        let jobs = || checked.jobs.iter();
        let mut included: BTreeSet<(String, String)> = jobs()
            .filter(|rehearsed| is_selected(&rehearsed.job))
            .map(|rehearsed| ids(&rehearsed.job))
            .collect();
        // Adds the procedures that included jobs depend on, until there are no more.
        loop {
            let jobs = jobs().filter(|rehearsed| included.contains(&ids(&rehearsed.job)));
            let dependencies: Vec<(String, String)> = jobs
                .flat_map(|Rehearsed { job, .. }| {
                    let machine = &job.machine.id;
                    let sections = job.sections.iter();
                    sections.map(|section| (machine.clone(), section.origin.id.clone()))
                })
                .collect();
            let count = included.len();
            included.extend(dependencies);
            if included.len() == count {
                break;
            }
        }
        let included_jobs: Vec<JobAndRehearsal<'c, 'a>> = jobs()
            .filter(|rehearsed| included.contains(&ids(&rehearsed.job)))
            .map(job_and_rehearsal)
            .collect();
        // A manual of some systems has only the fault tables that lead to a job of these systems.
        let leads_to_selected = |fault: &Job<'_>| {
            let mut selected = jobs().filter(|rehearsed| is_selected(&rehearsed.job));
            selected.any(|Rehearsed { job, .. }| {
                let mut cures = job.remedied_faults.iter();
                job.machine.id == fault.machine.id
                    && cures.any(|cure| cure.fault.id == fault.procedure.id)
            })
        };
        let faults = checked.faults.iter().filter(|fault| {
            self.includes_machine(&fault.job.machine.id)
                && (self.systems.is_empty() || leads_to_selected(&fault.job))
        });
        let has_job = |machine: &Machine| {
            let mut jobs = included_jobs.iter();
            jobs.any(|(job, _)| job.machine.id == machine.id)
        };
        let machines = sources.shop.machines.values();
        ManualContent {
            machines: machines
                .filter(|machine| self.includes_machine(&machine.id))
                .filter(|machine| self.systems.is_empty() || has_job(machine))
                .collect(),
            faults: faults.map(job_and_rehearsal).collect(),
            jobs: included_jobs,
            systems: self.systems.clone(),
            rules_appendix: self.rules_appendix,
            page: self.page(),
        }
    }
}

fn job_and_rehearsal<'c, 'a>(rehearsed: &'c Rehearsed<'a>) -> JobAndRehearsal<'c, 'a> {
    (&rehearsed.job, &rehearsed.rehearsal)
}

/// The manual of a scope as data, in the language of `output`. None if the scope has no job and no
/// fault table.
#[must_use]
pub(crate) fn manual_of(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
    scope: &Scope,
    output: &OutputContext,
) -> Option<Manual> {
    let content = scope.content(sources, checked);
    let is_empty = content.jobs.is_empty() && content.faults.is_empty();
    (!is_empty).then(|| crate::manual::manual(&sources.tree, &sources.shop, &content, output))
}

/// Makes the manual of a scope in each of the shop's languages and writes it to the output folder. A
/// manual whose content has not changed is kept.
///
/// # Errors
///
/// If the manual can't be typeset, or the output or the typesetter's work folder can't be written. The output is then
/// unchanged.
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
    let wirings = content.machines.iter().filter_map(|machine| {
        let wiring = machine.wiring.as_ref()?;
        Some(wiring.value.as_str())
    });
    let figures = figures.chain(wirings);
    let run = PublishRun {
        sources,
        jobs: &[],
        selection: &Selection::default(),
        pages: BTreeSet::from([scope.page()]),
        figures: figures.collect(),
        is_whole: false,
    };
    let published = run.deliver(outlet, |publishers| {
        publishers
            .par_iter()
            .try_for_each(|publisher| publisher.publish_manual(checked, scope))
    })?;
    Ok(Published {
        jobs: content.jobs.len(),
        ..published
    })
}

fn rehearse_all(jobs: Vec<Job<'_>>) -> Vec<Rehearsed<'_>> {
    let jobs = jobs.into_par_iter();
    jobs.map(|job| {
        let rehearsal = rehearsal::rehearse(&job, |_| {});
        Rehearsed { job, rehearsal }
    })
    .collect()
}

/// Publishes the manual of the whole shop, in the same run as its sheets.
pub(super) fn publish_whole_shop(
    publishers: &[Publisher<'_, '_>],
    sources: &Sources,
    rules_appendix: bool,
) -> Result<(), PublishError> {
    let scope = Scope {
        rules_appendix,
        ..Scope::default()
    };
    let may_make = |publisher: &Publisher<'_, '_>| publisher.may_make(&scope);
    if !publishers.iter().any(may_make) {
        return Ok(());
    }
    // The check has reported these findings already, so they are dropped.
    let mut findings = Findings::new();
    let Sources {
        tree,
        shop,
        procedures,
        faults,
        ..
    } = sources;
    let made = job::make(tree, shop, procedures, faults, &mut findings);
    let checked = CheckedJobs {
        rehearsed: made.jobs.len(),
        jobs: rehearse_all(made.jobs),
        faults: rehearse_all(made.faults),
        findings,
    };
    publishers
        .par_iter()
        .try_for_each(|publisher| publisher.publish_manual(&checked, &scope))
}

impl Publisher<'_, '_> {
    /// Whether a manual can be typeset, or one of an earlier run may be kept.
    fn may_make(&self, scope: &Scope) -> bool {
        let path = self.paths.path(&scope.page());
        let is_recorded = |path: &str| self.staged.is_recorded(&format!("{path}.pdf"));
        self.runner.is_some() || is_recorded(&path) || is_recorded(&part_path(&path, 1))
    }

    /// Makes or keeps the manual of a scope. A manual that can't be typeset is recorded as failed.
    pub(super) fn publish_manual(
        &self,
        checked: &CheckedJobs<'_, Rehearsed<'_>>,
        scope: &Scope,
    ) -> Result<(), PublishError> {
        let path = self.paths.path(&scope.page());
        let file = format!("{path}.pdf");
        if !self.may_make(scope) {
            return Ok(());
        }
        let Some(manual) = manual_of(self.sources, checked, scope, self.output) else {
            return Ok(());
        };
        let content = self.inputs.pdf().with(Fingerprint::of_data(&manual));
        let key = OutputKey {
            inputs: None,
            content: Some(content.finish()),
            tool: self.tool.map(str::to_owned),
        };
        let is_kept = self.keep_pdf(&path, &key, |old| old.content == key.content);
        let kept_parts = if is_kept {
            0
        } else {
            self.keep_parts(&path, &key)
        };
        let mut paths = vec![path.clone()];
        if kept_parts > 0 {
            paths = (1..=kept_parts)
                .map(|part| part_path(&path, part))
                .collect();
        } else if !is_kept && let Some(runner) = self.runner {
            match self.set_manual(runner, &manual, &path) {
                Ok(pdfs) => {
                    paths.clear();
                    for (path, bytes) in pdfs {
                        let file = format!("{path}.pdf");
                        if !self.staged.has(&file) {
                            self.staged.put(&file, &bytes, key.clone())?;
                        }
                        paths.push(path);
                    }
                }
                Err(error) => self.record_failure(file, error),
            }
        }
        // `bind` counts the manual as a sheet. `publish` does not, and its pages do not have the manual.
        if self.output.includes(&scope.page()) {
            for path in &paths {
                self.record_sheet(path);
            }
        }
        self.progress.page_done();
        Ok(())
    }

    /// Keeps the parts of a divided manual of an earlier run, and returns their number. 0 if they are not all as they
    /// were: then the manual is made again.
    fn keep_parts(&self, path: &str, key: &OutputKey) -> usize {
        let recorded = (1..).take_while(|part| {
            let file = format!("{}.pdf", part_path(path, *part));
            self.staged.is_recorded(&file)
        });
        let is_kept = |part: usize| {
            let path = part_path(path, part);
            self.keep_pdf(&path, key, |old| old.content == key.content)
        };
        let kept: Vec<bool> = recorded.map(is_kept).collect();
        if kept.iter().all(|is_kept| *is_kept) {
            kept.len()
        } else {
            0
        }
    }

    /// Typesets a manual. One that is over a limit of the typesetter is divided into parts, until none is over a limit.
    fn set_manual(
        &self,
        runner: &TypstRunner<'_>,
        manual: &Manual,
        path: &str,
    ) -> Result<Vec<(String, Vec<u8>)>, RenderError> {
        let words = &self.output.edition.words;
        let whole = runner.set_manual(manual, words, path);
        if !matches!(whole, Err(RenderError::OverLimit { .. })) {
            return Ok(vec![(path.to_owned(), whole?)]);
        }
        let Some(mut parts) = halves(&manual.divisible()) else {
            return Ok(vec![(path.to_owned(), whole?)]);
        };
        // The parts name each other by number, so after a division all are made again.
        'divided: loop {
            let mut pdfs = Vec::new();
            for (index, part) in manual.in_parts(&parts, words).iter().enumerate() {
                let path = part_path(path, index + 1);
                match runner.set_manual(part, words, &path) {
                    Ok(bytes) => pdfs.push((path, bytes)),
                    Err(error @ RenderError::OverLimit { .. }) => {
                        let Some(two) = halves(&parts[index]) else {
                            return Err(error);
                        };
                        parts.splice(index..=index, two);
                        continue 'divided;
                    }
                    Err(error) => return Err(error),
                }
            }
            return Ok(pdfs);
        }
    }
}

/// The path of a part of a divided manual, without extension.
fn part_path(path: &str, part: usize) -> String {
    format!("{path}-{part}")
}

/// A range in two halves. None if it has only one item.
fn halves(range: &Range<usize>) -> Option<Vec<Range<usize>>> {
    let middle = range.start.midpoint(range.end);
    (range.len() > 1).then(|| vec![range.start..middle, middle..range.end])
}
