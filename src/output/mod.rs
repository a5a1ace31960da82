//! Files on disk, all of a run or none of it.
//!
//! **In**: paths and bytes, from any thread. **Out**: a folder that holds them. New files are written
//! beside the output, in `.benchleaf/next`, and a list of what is to move where is written before the
//! first one moves: a run that is killed while they move is completed by the next one. A record
//! says which files are ours and what each was made from, so that a file that
//! would come out the same is kept; nothing else in the folder is ever overwritten,
//! moved or removed. A record that is lost or damaged costs time and nothing
//! else. This stage does not know what the files are.

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

/// The text by which a page, HTML or PDF, is known as made by this program.
pub(crate) const MARK: &str = "made by benchleaf";

/// What a file was made from and with. A file of an earlier run whose key fits need not be made
/// again: the same inputs give the same bytes, as [`crate::cache`] says.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct OutputKey {
    /// Of everything that decides the file: the sources, the program and its templates. None for a
    /// file that is made in every run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) inputs: Option<Fingerprint>,
    /// Of the data that stands on it, for a file that is costly to make from that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) content: Option<Fingerprint>,
    /// The program that made it, with its version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) tool: Option<String>,
}

/// How many files a staged write left in which state.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct FileCounts {
    /// Files written because they are new or have changed.
    pub(crate) written: usize,
    /// Files that were up to date.
    pub(crate) unchanged: usize,
    /// Files of an earlier run that are no longer made, and were removed.
    pub(crate) removed: usize,
    /// Files of ours that somebody had changed since, and that were made anew.
    pub(crate) restored: usize,
}
