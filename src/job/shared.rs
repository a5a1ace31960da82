//! What several jobs of a run share.

use super::chain::Library;
use super::hazards::Met;
use super::names::{Names, UnresolvedName};
use super::reverse::Progress;
use super::written::Written;
use super::{JobSection, Phase};
use crate::cache::{Fingerprint, Memo};
use crate::finding::{FileId, Findings};
use crate::procedure::Procedure;
use crate::shop::Machine;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Parts of jobs that are made once for all jobs of a run.
///
/// The sources of a run do not change, so the ids of their files are the inputs of all that is
/// remembered here.
pub(super) struct SharedParts<'a> {
    /// The procedures that others are made up of.
    parts: BTreeSet<FileId>,
    /// These procedures written out, by machine and procedure.
    written: Memo<Arc<Written<'a>>>,
    /// What comes before jobs' own procedures, by machine and procedures.
    prefixes: Memo<Arc<WrittenPrefix<'a>>>,
    /// The machine after such a prefix, by [`WrittenPrefix::id`].
    progress: Memo<Arc<Progress<'a>>>,
}

/// The most values that each cache remembers, about: a large shop has fewer.
const MOST_VALUES: usize = 4096;

impl<'a> SharedParts<'a> {
    pub(super) fn new(library: &Library<'a>) -> SharedParts<'a> {
        SharedParts {
            parts: library
                .parts()
                .map(|part| library.procedure(part).file)
                .collect(),
            written: Memo::new("procedures written out", MOST_VALUES, |_| 1),
            prefixes: Memo::new("prefixes of jobs", MOST_VALUES, |_| 1),
            progress: Memo::new("machines after prefixes", MOST_VALUES, |_| 1),
        }
    }

    /// The steps of a procedure that others are made up of; none for another one, which only one job
    /// asks for.
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

    /// The prefix of a job on a machine: these procedures, which are all for the machine. `write`
    /// writes them out.
    pub(super) fn prefix(
        &self,
        begin: &[(Phase, &'a Procedure)],
        machine: &Machine,
        write: impl FnOnce(Fingerprint) -> WrittenPrefix<'a>,
    ) -> Arc<WrittenPrefix<'a>> {
        let files: Vec<FileId> = begin.iter().map(|(_, part)| part.file).collect();
        let id = Fingerprint::of(&(machine.file, files));
        self.prefixes.get_or_make(&id, || Arc::new(write(id)))
    }

    /// The machine after a prefix of a job on it.
    pub(super) fn progress(
        &self,
        prefix: &WrittenPrefix<'a>,
        names: Names<'a, '_>,
    ) -> Arc<Progress<'a>> {
        self.progress.get_or_make(&prefix.id, || {
            let mut progress = Progress::new(names.shop, names.machine);
            for section in &prefix.sections {
                progress.advance(section);
            }
            Arc::new(progress)
        })
    }
}

/// What comes before a job's own procedure, written out, with what was found and counted in it.
#[derive(Debug)]
pub(super) struct WrittenPrefix<'a> {
    /// Of the machine and the procedures.
    pub(super) id: Fingerprint,
    pub(super) sections: Vec<Arc<JobSection<'a>>>,
    pub(super) sources: BTreeSet<FileId>,
    pub(super) minutes: Option<u32>,
    pub(super) is_whole: bool,
    pub(super) unresolved: Vec<UnresolvedName>,
    pub(super) findings: Findings,
    pub(super) met: Met<'a>,
    /// The number of the step after it.
    pub(super) next: u32,
}
