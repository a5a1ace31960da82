//! Writes the files of a run to a folder atomically: all of them or none.
//!
//! **In**: paths and bytes, from any thread. **Out**: a folder with these files. This stage does not know
//! what the files contain.
//!
//! New files are staged in `.benchleaf/next`. Before the first one is moved into place, the list of all
//! moves is written. If a run is stopped while it moves files, the next run completes the list before anything else.
//!
//! A record lists the files that benchleaf wrote and what each was made from, so that up-to-date files
//! are kept. Only a file with the recorded content is overwritten or removed. One that somebody changed is moved out of
//! the way if its place is needed, and stays otherwise. If the record is lost or damaged, nothing is removed.

mod error;
mod folder;
mod record;
mod single;
mod staged;
mod swap;
mod sync;
mod temporary;
#[cfg(test)]
mod tests;

use crate::cache::Fingerprint;
pub(crate) use error::OutputError;
pub(crate) use folder::Output;
use serde::{Deserialize, Serialize};
pub(crate) use single::replace_file;
pub(crate) use staged::StagedWrite;
pub(crate) use swap::finish_moves;
pub(crate) use sync::Syncing;
pub(crate) use temporary::{TemporaryFolder, remove_temporary_folders};

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

/// How a run writes its files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct OutputSettings {
    pub(crate) sync: Syncing,
    /// Whether every file that could be kept is read, to find those that changed while their size and time did not.
    pub(crate) rehashes: bool,
}

impl OutputSettings {
    /// For a folder that need not survive a power failure.
    pub(crate) const TEMPORARY: OutputSettings = OutputSettings {
        sync: Syncing::Off,
        rehashes: false,
    };
}

/// What a run did to the files of the output.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct FileChanges {
    /// The number of files written because they are new or have changed.
    pub(crate) written: usize,
    /// The number of files that were up to date.
    pub(crate) unchanged: usize,
    /// The number of files of an earlier run that are no longer made, and were removed.
    pub(crate) removed: usize,
    /// Files that somebody changed or put at the path of a file of this run, and that were moved out of the way.
    pub(crate) moved_aside: Vec<MovedAside>,
    /// Files that look like outdated ones of an earlier run. They stay, because nothing shows that benchleaf wrote
    /// them as they are.
    pub(crate) left: Vec<String>,
}

/// A file that was moved out of the way. Both paths are in the output.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct MovedAside {
    pub(crate) path: String,
    pub(crate) to: String,
}
