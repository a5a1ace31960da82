//! The findings of reading, sorted by the file that was read.

use super::{FileId, Findings};
use std::collections::BTreeMap;

/// The findings of reading several files, those of each file apart, so that one file can be read again.
#[derive(Clone, Debug, Default)]
pub(crate) struct FindingsByFile {
    /// Those that are about no single file.
    general: Findings,
    /// Only of files that have some.
    of_files: BTreeMap<FileId, Findings>,
}

impl FindingsByFile {
    /// Those that are about no single file, to be added to.
    pub(crate) fn general(&mut self) -> &mut Findings {
        &mut self.general
    }

    /// Sets the findings of reading a file.
    pub(crate) fn set(&mut self, file: FileId, findings: Findings) {
        if findings.is_empty() {
            self.of_files.remove(&file);
        } else {
            self.of_files.insert(file, findings);
        }
    }

    /// Adds all of them to a list.
    pub(crate) fn add_to(&self, findings: &mut Findings) {
        findings.extend(self.general.clone());
        for of_file in self.of_files.values() {
            findings.extend(of_file.clone());
        }
    }
}
