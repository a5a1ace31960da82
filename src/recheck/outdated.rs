//! What a change makes outdated.

use crate::finding::FileId;
use crate::shop::MachineId;
use std::collections::BTreeSet;

/// The results that have to be made again after a change.
#[derive(Clone, Debug, Default)]
pub(crate) struct Outdated {
    /// Everything.
    pub(super) all: bool,
    /// What is found in the shop's records.
    pub(super) records: bool,
    /// What is found in the text of these files.
    pub(super) texts: BTreeSet<FileId>,
    /// The jobs of these procedures and fault tables.
    pub(super) procedures: BTreeSet<FileId>,
    /// The jobs on these machines.
    pub(super) machines: BTreeSet<MachineId>,
    /// Whatever has a finding with a place in these files, because the places have moved.
    pub(super) moved: BTreeSet<FileId>,
}

impl Outdated {
    /// Everything, because sources were read from nothing.
    pub(crate) fn all() -> Outdated {
        Outdated {
            all: true,
            ..Outdated::default()
        }
    }

    /// Adds what another change has made outdated.
    pub(crate) fn extend(&mut self, other: Outdated) {
        self.all |= other.all;
        self.records |= other.records;
        self.texts.extend(other.texts);
        self.procedures.extend(other.procedures);
        self.machines.extend(other.machines);
        self.moved.extend(other.moved);
    }
}
