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

pub use error::OutputError;
pub use folder::Output;
use serde::{Deserialize, Serialize};
pub use staged::StagedWrite;

/// The text by which a page, HTML or PDF, is known as made by this program.
pub const MARK: &str = "made by benchleaf";

/// What a file was made from and with, as digests: a file that would be made from the same need not
/// be made again.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Key {
    /// Of every file of the shop's that has a say in it, and of the program and its templates.
    pub inputs: String,
    /// Of what stands on it, for a file that is costly to make from that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub content: Option<String>,
    /// The program it was made with, and its version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool: Option<String>,
}

/// How many files a staged write left in which state.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FileCounts {
    /// Files written because they are new or have changed.
    pub written: usize,
    /// Files that were up to date.
    pub unchanged: usize,
    /// Files of an earlier run that are no longer made, and were removed.
    pub removed: usize,
    /// Files of ours that somebody had changed since, and that were made anew.
    pub restored: usize,
}

/// Half of a BLAKE3 hash, in hexadecimal digits: enough that no two contents share one by chance.
#[must_use]
pub fn digest(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex()[..32].to_owned()
}
