//! Expands a procedure on one machine into a [`Job`], with every name resolved and every step numbered.
//!
//! In: the shop, its procedures and fault tables. Out: one job for each procedure and machine. The procedures
//! named by `begin`, `do` and `finish` are expanded in place, the reassembly is derived where a section asks
//! for it, and references are resolved to step numbers and links. A name that can't be resolved is a finding;
//! the job is made without it, so that the rest is still checked. This module never judges the order of steps:
//! `rehearsal` and `rules` do.

mod build;
mod chain;
mod data;
mod faults;
mod figures;
mod follow_on;
mod hazards;
mod left;
mod names;
mod pairs;
mod places;
mod progress;
mod reverse;
mod revised;
mod rules;
mod shared;
mod shown;
mod written;

use crate::finding::{FileId, Findings};
pub(crate) use crate::model::{Action, Thing};
use crate::procedure::Procedure;
use crate::shop::{Machine, Shop};
use crate::tree::Tree;
use build::Build;
pub(crate) use data::{
    Job, JobItem, JobName, JobSection, JobStep, Phase, Prefix, ReferenceTarget, RemediedFault, When,
};
pub(crate) use figures::FirstPlace;
pub(crate) use names::{UnresolvedName, is_known_anywhere, kind_of, report as report_unresolved};
pub(crate) use revised::{NewAction, NewStep, is_on};
pub(crate) use rules::RULES;
pub(crate) use shown::drawn;

/// All jobs of a shop, or a value computed from each.
#[derive(Debug)]
pub(crate) struct Jobs<'a, T = Job<'a>> {
    /// One for each procedure and machine, in order of procedure and then machine.
    pub(crate) jobs: Vec<T>,
    /// One for each fault table and machine. Its steps are causes; it is read, not executed.
    pub(crate) faults: Vec<Job<'a>>,
}

/// Makes the jobs of all procedures and fault tables, on each machine they are for.
///
/// `procedures` and `faults` must be complete and in the order in which they were read, because they name each
/// other by index.
pub(crate) fn make<'a>(
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    findings: &mut Findings,
) -> Jobs<'a> {
    make_each(tree, shop, procedures, faults, findings, |job| job)
}

/// Makes the jobs as [`make`] does, and passes each to `take` as soon as it is made. No more jobs are in
/// memory at once than there are threads, apart from those that `take` returns.
pub(crate) fn make_each<'a, T: Send>(
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    findings: &mut Findings,
    take: impl Fn(Job<'a>) -> T + Sync,
) -> Jobs<'a, T> {
    let library = chain::Library::new(procedures, faults);
    let sound = library.check(shop, findings);
    follow_on::check(&library, findings);
    let on_machines = |procedure: &'a Procedure| {
        let machines = procedure.machines.iter();
        let machines = machines.map(|id| &shop.machines[id.value]);
        machines.map(move |machine| (procedure, machine))
    };
    let readable = library.readable_faults(&sound).into_iter();
    let requests: Vec<(&Procedure, &Machine)> = readable.flat_map(on_machines).collect();
    let build = Build {
        tree,
        shop,
        library: &library,
    };
    let mut unresolved = Vec::new();
    let faults = build.make_all(&requests, &mut unresolved, findings, |job| job);
    let remedied_faults = faults::remedied_faults(&faults);
    let sound = sound.into_iter().map(|id| library.procedure(id));
    let requests: Vec<(&Procedure, &Machine)> = sound.flat_map(on_machines).collect();
    let jobs = build.make_all(&requests, &mut unresolved, findings, |mut job| {
        let key = (job.machine.index, job.procedure.file);
        job.remedied_faults = remedied_faults.get(&key).cloned().unwrap_or_default();
        take(job)
    });
    names::report(unresolved, findings);
    Jobs { jobs, faults }
}

/// Makes jobs again, one at a time, from sources that were already checked. Findings are discarded, because
/// the check has reported them.
#[derive(Clone, Copy)]
pub(crate) struct JobFactory<'a, 'l> {
    build: Build<'a, 'l>,
    parts: &'l shared::SharedParts<'a>,
    files: &'l [FileId],
}

impl std::fmt::Debug for JobFactory<'_, '_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("JobFactory").finish_non_exhaustive()
    }
}

/// Calls `action` with a [`JobFactory`] for some sources.
pub(crate) fn with_factory<'a, T>(
    tree: &'a Tree,
    shop: &'a Shop,
    procedures: &'a [Procedure],
    faults: &'a [Procedure],
    action: impl FnOnce(JobFactory<'a, '_>) -> T,
) -> T {
    let library = chain::Library::new(procedures, faults);
    let build = Build {
        tree,
        shop,
        library: &library,
    };
    let files = build::shop_files(tree);
    let parts = shared::SharedParts::new(&library);
    action(JobFactory {
        build,
        parts: &parts,
        files: &files,
    })
}

/// A job, with what is found while it is made.
pub(crate) struct Made<'a> {
    pub(crate) job: Job<'a>,
    /// The names in it that could not be resolved. [`report_unresolved`] reports those of all jobs together.
    pub(crate) unresolved: Vec<UnresolvedName>,
    pub(crate) findings: Findings,
}

impl<'a> JobFactory<'a, '_> {
    /// The procedures and the fault tables that jobs can be made of, the procedures in order of their keys. The reasons why
    /// others can't are findings.
    pub(crate) fn makeable(
        &self,
        findings: &mut Findings,
    ) -> (Vec<&'a Procedure>, Vec<&'a Procedure>) {
        let Build { shop, library, .. } = self.build;
        let sound = library.check(shop, findings);
        follow_on::check(library, findings);
        let faults = library.readable_faults(&sound);
        let procedures = sound.into_iter().map(|id| library.procedure(id));
        (procedures.collect(), faults)
    }

    /// Makes one job, without its [`Job::remedied_faults`].
    #[must_use]
    pub(crate) fn make(&self, procedure: &'a Procedure, machine: &'a Machine) -> Made<'a> {
        let JobFactory {
            build,
            parts,
            files,
        } = *self;
        let (job, unresolved, findings) =
            build::make_job(build, files, parts, None, procedure, machine);
        Made {
            job,
            unresolved,
            findings,
        }
    }

    /// Makes one job. `remedied_faults` becomes [`Job::remedied_faults`].
    #[must_use]
    pub(crate) fn job(
        &self,
        procedure: &'a Procedure,
        machine: &'a Machine,
        remedied_faults: Vec<RemediedFault<'a>>,
    ) -> Job<'a> {
        let Made { mut job, .. } = self.make(procedure, machine);
        job.remedied_faults = remedied_faults;
        job
    }
}
