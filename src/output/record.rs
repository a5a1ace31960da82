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
    ///
    /// # Errors
    ///
    /// If it can't be read now.
    pub(super) fn is_at(&self, file: &Path, rehashes: bool) -> io::Result<bool> {
        let metadata = match fs::symlink_metadata(file) {
            Ok(metadata) if metadata.is_file() => metadata,
            Ok(_) => return Ok(false),
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(false),
            Err(error) => return Err(error),
        };
        if !rehashes && Stamp::of(&metadata) == Some(self.stamp) {
            return Ok(true);
        }
        Ok(Fingerprint::of_bytes(&fs::read(file)?) == self.digest)
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
    ///
    /// # Errors
    ///
    /// If the file can't be read.
    pub(super) fn load(folder: &Path) -> io::Result<Option<OutputRecord>> {
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

/// Loads a value that [`save`] wrote. None if there is no file, if a folder is in its place, or if its checksum is wrong.
///
/// # Errors
///
/// If there is a file that can't be read now. It may be valid, so it must not be taken for a lost one.
pub(super) fn load<T: DeserializeOwned>(path: &Path) -> io::Result<Option<T>> {
    let text = match fs::read(path) {
        Ok(text) => text,
        Err(error)
            if matches!(
                error.kind(),
                io::ErrorKind::NotFound | io::ErrorKind::IsADirectory
            ) =>
        {
            return Ok(None);
        }
        Err(error) => return Err(error),
    };
    let Some(line_end) = text.iter().position(|byte| *byte == b'\n') else {
        return Ok(None);
    };
    let (checksum, body) = (&text[..line_end], &text[line_end + 1..]);
    if checksum != checksum_of(body).as_bytes() {
        return Ok(None);
    }
    Ok(serde_json::from_slice(body).ok())
}

/// Saves a value with a checksum in the first line.
pub(super) fn save<T: Serialize>(value: &T, path: &Path) -> io::Result<()> {
    let body = serde_json::to_vec(value)?;
    let text = [checksum_of(&body).as_bytes(), b"\n", &body].concat();
    fs::write(path, text)
}
