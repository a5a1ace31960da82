//! The record of the files that benchleaf wrote, and the list of a swap. Both are JSON files.

use super::OutputKey;
use crate::cache::Fingerprint;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Component, Path};
use std::time::UNIX_EPOCH;

/// Every file that benchleaf wrote, by its path in the output.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct OutputRecord {
    pub(super) files: BTreeMap<String, RecordedFile>,
}

/// A file that benchleaf wrote.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct RecordedFile {
    /// The fingerprint of its bytes.
    pub(super) digest: Fingerprint,
    pub(super) stamp: Stamp,
    pub(super) key: OutputKey,
}

/// The size and time of a file. They show whether it was changed, without reading it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stamp {
    /// In bytes.
    size: u64,
    /// The time of the last change, in nanoseconds since 1970. 0 if it is not known.
    written: u64,
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
    /// Loads the record. It is empty if the file is missing or its checksum is wrong; then everything is
    /// made again.
    pub(super) fn load(folder: &Path) -> OutputRecord {
        let text = fs::read(folder.join(RECORD)).unwrap_or_default();
        let Some(line_end) = text.iter().position(|byte| *byte == b'\n') else {
            return OutputRecord::default();
        };
        let (checksum, body) = (&text[..line_end], &text[line_end + 1..]);
        if checksum != checksum_of(body).as_bytes() {
            return OutputRecord::default();
        }
        serde_json::from_slice(body).unwrap_or_default()
    }

    /// Saves the record with a checksum in the first line.
    pub(super) fn save(&self, folder: &Path) -> io::Result<()> {
        let body = serde_json::to_vec(self)?;
        let text = [checksum_of(&body).as_bytes(), b"\n", &body].concat();
        fs::write(folder.join(RECORD), text)
    }

    /// Replaces the record by the one in the folder of staged files. Idempotent.
    pub(super) fn install(next: &Path, folder: &Path) -> io::Result<OutputRecord> {
        match fs::rename(next.join(RECORD), folder.join(RECORD)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(OutputRecord::load(folder)),
        }
    }
}

/// The checksum in the first line of a record's file.
fn checksum_of(body: &[u8]) -> String {
    Fingerprint::of_bytes(body).to_string()
}

const RECORD: &str = "record.json";

/// Files to move into place and files to remove.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Swap {
    /// Pairs of a name in the folder of staged files and a path in the output.
    pub(super) moves: Vec<(String, String)>,
    pub(super) removed: Vec<String>,
}

impl Swap {
    /// Loads the swap of a killed run. None if there is none.
    pub(super) fn load(folder: &Path) -> Option<Swap> {
        load(&folder.join("swap.json"))
    }

    pub(super) fn save(&self, folder: &Path) -> io::Result<()> {
        save(self, folder, "swap.json")
    }

    /// Whether every path stays inside the output folder.
    pub(super) fn stays_inside(&self) -> bool {
        let is_inside = |path: &String| {
            let mut parts = Path::new(path).components();
            parts.all(|part| matches!(part, Component::Normal(_)))
        };
        let moves_stay = self
            .moves
            .iter()
            .all(|(from, to)| is_inside(from) && is_inside(to));
        moves_stay && self.removed.iter().all(is_inside)
    }

    pub(super) fn clear(folder: &Path) -> io::Result<()> {
        match fs::remove_file(folder.join("swap.json")) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            result => result,
        }
    }
}

fn load<T: for<'de> Deserialize<'de>>(path: &Path) -> Option<T> {
    serde_json::from_slice(&fs::read(path).ok()?).ok()
}

/// Writes to a temporary name first, so that a file of this name is always complete.
fn save<T: Serialize>(value: &T, folder: &Path, name: &str) -> io::Result<()> {
    let mut text = serde_json::to_vec(value)?;
    text.push(b'\n');
    let draft = folder.join(format!("{name}.draft"));
    fs::write(&draft, text)?;
    fs::rename(draft, folder.join(name))
}
