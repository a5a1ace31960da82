//! Writes the files of a run to a folder atomically: all of them or none.
//!
//! **In**: paths and bytes, from any thread. **Out**: a folder with these files. This stage does not know
//! what the files contain.
//!
//! New files are staged in `.benchleaf/next`. Before the first one is moved into place, the list of all
//! moves is written. If a run is killed while it moves files, the next run completes the list.
//!
//! A record lists the files that benchleaf wrote and what each was made from, so that up-to-date files
//! are kept. No other file in the folder is ever overwritten, moved or removed. If the record is lost
//! or damaged, the only cost is time.

mod error;
mod folder;
mod record;
mod staged;
#[cfg(test)]
mod tests;

use crate::cache::Fingerprint;
pub(crate) use error::OutputError;
pub(crate) use folder::Output;
use serde::{Deserialize, Serialize};
pub(crate) use staged::StagedWrite;

/// A text in every HTML page and PDF. It identifies them as made by this program.
pub(crate) const MARK: &str = "made by benchleaf";

/// What a file was made from and with. A file of an earlier run with the same key need not be made
/// again, since the same inputs give the same bytes: see [`crate::cache`].
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct OutputKey {
    /// The fingerprint of everything that the file depends on: the sources, the program and its templates.
    /// None for a file that is made in every run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) inputs: Option<Fingerprint>,
    /// The fingerprint of the data in the file, for a file that is expensive to make from this data.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) content: Option<Fingerprint>,
    /// The program that made it, with its version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) tool: Option<String>,
}

/// The numbers of files by what a staged write did with them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct FileCounts {
    /// Files written because they are new or have changed.
    pub(crate) written: usize,
    /// Files that were up to date.
    pub(crate) unchanged: usize,
    /// Files of an earlier run that are no longer made, and were removed.
    pub(crate) removed: usize,
    /// Files that somebody had changed after an earlier run, and that were written again.
    pub(crate) restored: usize,
}
