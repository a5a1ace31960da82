//! Caches for parts that several jobs of a run have in common.

use super::chain::Library;
use super::data::{JobSection, Phase};
use super::hazards::SeenCautions;
use super::names::{Names, UnresolvedName};
use super::progress::Progress;
use super::written::Written;
use crate::cache::{Fingerprint, Memo};
use crate::finding::{FileId, Findings};
use crate::procedure::Procedure;
use crate::shop::Machine;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Parts of jobs that are computed once per run.
///
/// Sources do not change during a run, so the ids of files are sufficient as cache keys.
pub(super) struct SharedParts<'a> {
    /// The files of procedures that others include by `begin`, `finish` or `do`, or reverse.
    parts: BTreeSet<FileId>,
    /// The steps of these procedures, by machine and procedure.
    written: Memo<Arc<Written<'a>>>,
    /// By machine and `begin` procedures.
    prefixes: Memo<Arc<WrittenPrefix<'a>>>,
    /// The state of the machine after a prefix, by [`WrittenPrefix::id`].
    progress: Memo<Arc<Progress<'a>>>,
}

/// The approximate maximum number of values in each cache. A large shop needs fewer.
const MAX_CACHED_VALUES: usize = 4096;

impl<'a> SharedParts<'a> {
    pub(super) fn new(library: &Library<'a>) -> SharedParts<'a> {
        SharedParts {
            parts: library
                .parts()
                .map(|part| library.procedure(part).file)
                .collect(),
            written: Memo::new("procedures written out", MAX_CACHED_VALUES, |_| 1),
            prefixes: Memo::new("prefixes of jobs", MAX_CACHED_VALUES, |_| 1),
            progress: Memo::new("machines after prefixes", MAX_CACHED_VALUES, |_| 1),
        }
    }

    /// The steps of a procedure that others include. `None` for any other procedure, because only one job per
    /// machine needs its steps.
    pub(super) fn written(
        &self,
        procedure: &'a Procedure,
        names: Names<'a, '_>,
    ) -> Option<Arc<Written<'a>>> {
        if !self.parts.contains(&procedure.file) {
            return None;
        }
        let make = || Arc::new(Written::new(names, procedure));
        let key = (names.machine.file, procedure.file);
        Some(self.written.get_or_make(&key, make))
    }

    /// The prefix of a job: the `begin` procedures, which must all be for the machine. `write` makes it if it is
    /// not in the cache.
    pub(super) fn prefix(
        &self,
        begin: &[(Phase, &'a Procedure)],
        machine: &Machine,
        write: impl FnOnce(Fingerprint) -> WrittenPrefix<'a>,
    ) -> Arc<WrittenPrefix<'a>> {
        let files: Vec<FileId> = begin.iter().map(|(_, procedure)| procedure.file).collect();
        let id = Fingerprint::of(&(machine.file, files));
        self.prefixes.get_or_make(&id, || Arc::new(write(id)))
    }

    /// The state of the machine after a prefix.
    pub(super) fn progress(
        &self,
        prefix: &WrittenPrefix<'a>,
        names: Names<'a, '_>,
    ) -> Arc<Progress<'a>> {
        self.progress.get_or_make(&prefix.id, || {
            let mut progress = Progress::new(names.shop, names.machine);
            progress.advance_all(&prefix.sections);
            Arc::new(progress)
        })
    }
}

/// The expanded `begin` procedures of a job, with the results that the rest of the job continues from.
#[derive(Debug)]
pub(super) struct WrittenPrefix<'a> {
    /// A fingerprint of the machine and the procedures.
    pub(super) id: Fingerprint,
    pub(super) sections: Vec<Arc<JobSection<'a>>>,
    pub(super) sources: BTreeSet<FileId>,
    pub(super) minutes: Option<u32>,
    pub(super) is_complete: bool,
    pub(super) unresolved: Vec<UnresolvedName>,
    pub(super) findings: Findings,
    pub(super) seen: SeenCautions<'a>,
    /// The number of the first step after the prefix.
    pub(super) next_number: u32,
}
