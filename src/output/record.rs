//! The record of the files that benchleaf wrote. It is a JSON file with a checksum.

use super::OutputKey;
use crate::cache::Fingerprint;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;
use std::time::UNIX_EPOCH;

/// The subfolder of the output with the record and the staged files.
pub(super) const METADATA: &str = ".benchleaf";

/// Every file that benchleaf wrote, by its path in the output.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct OutputRecord {
    pub(super) files: BTreeMap<String, RecordedFile>,
}

/// A file that benchleaf wrote, and what it was made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct RecordedFile {
    pub(super) written: WrittenFile,
    pub(super) key: OutputKey,
}

/// The content of a file that benchleaf wrote.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct WrittenFile {
    /// The fingerprint of its bytes.
    pub(super) digest: Fingerprint,
    pub(super) stamp: Stamp,
}

/// The size and time of a file. They show whether it was changed, without reading it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stamp {
    /// In bytes.
    size: u64,
    /// The time of the last change, in nanoseconds since 1970. 0 if it is not known.
    written: u64,
}

impl WrittenFile {
    /// Whether this file is at a path, unchanged. Compares its size and time as version control does, unless
    /// `rehashes`. If they differ, as they do in a copy, compares the content.
    pub(super) fn is_at(&self, file: &Path, rehashes: bool) -> bool {
        let Ok(metadata) = fs::symlink_metadata(file) else {
            return false;
        };
        let has_stamp = || !rehashes && Stamp::of(&metadata) == Some(self.stamp);
        let has_content =
            || fs::read(file).is_ok_and(|bytes| Fingerprint::of_bytes(&bytes) == self.digest);
        metadata.is_file() && (has_stamp() || has_content())
    }
}

impl Stamp {
    /// None if the system does not give the time of the last change.
    pub(super) fn of(metadata: &fs::Metadata) -> Option<Stamp> {
        let since_1970 = metadata.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
        Some(Stamp {
            size: metadata.len(),
            written: u64::try_from(since_1970.as_nanos()).ok()?,
        })
    }
}

impl OutputRecord {
    /// The name of the record's file.
    pub(super) const NAME: &str = "record.json";

    /// Loads the record. None if the file is missing or its checksum is wrong; then everything is made again.
    pub(super) fn load(folder: &Path) -> Option<OutputRecord> {
        load(&folder.join(OutputRecord::NAME))
    }

    pub(super) fn save(&self, folder: &Path) -> io::Result<()> {
        save(self, &folder.join(OutputRecord::NAME))
    }

    /// Replaces the record by the one in the folder of staged files. Idempotent.
    pub(super) fn install(next: &Path, folder: &Path) -> io::Result<()> {
        match fs::rename(
            next.join(OutputRecord::NAME),
            folder.join(OutputRecord::NAME),
        ) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            result => result,
        }
    }
}

/// The checksum in the first line of a record's file.
fn checksum_of(body: &[u8]) -> String {
    Fingerprint::of_bytes(body).to_string()
}

/// Loads a value that [`save`] wrote. None if there is none, or if its checksum is wrong.
pub(super) fn load<T: DeserializeOwned>(path: &Path) -> Option<T> {
    let text = fs::read(path).ok()?;
    let line_end = text.iter().position(|byte| *byte == b'\n')?;
    let (checksum, body) = (&text[..line_end], &text[line_end + 1..]);
    if checksum != checksum_of(body).as_bytes() {
        return None;
    }
    serde_json::from_slice(body).ok()
}

/// Saves a value with a checksum in the first line.
pub(super) fn save<T: Serialize>(value: &T, path: &Path) -> io::Result<()> {
    let body = serde_json::to_vec(value)?;
    let text = [checksum_of(&body).as_bytes(), b"\n", &body].concat();
    fs::write(path, text)
}
