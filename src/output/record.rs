//! Which files are ours, and what is about to be done to them.

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
    /// Of its bytes.
    pub(super) digest: Fingerprint,
    /// When it was written.
    pub(super) stamp: Stamp,
    /// What it was made from and with.
    pub(super) key: OutputKey,
}

/// The size and time of a file, which tell that it was written to without reading it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stamp {
    /// Bytes.
    size: u64,
    /// When it was last written to, in nanoseconds since 1970; 0 where that is not known.
    written: u64,
}

impl Stamp {
    /// None where the system can't say when the file was last written to.
    pub(super) fn of(found: &fs::Metadata) -> Option<Stamp> {
        let since = found.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
        Some(Stamp {
            size: found.len(),
            written: u64::try_from(since.as_nanos()).ok()?,
        })
    }
}

impl OutputRecord {
    /// The record in a side folder. Empty where there is none or its seal is wrong; then everything is
    /// made again.
    pub(super) fn load(side: &Path) -> OutputRecord {
        let text = fs::read(side.join(RECORD)).unwrap_or_default();
        let Some(at) = text.iter().position(|byte| *byte == b'\n') else {
            return OutputRecord::default();
        };
        let (seal, body) = (&text[..at], &text[at + 1..]);
        if seal != seal_of(body).as_bytes() {
            return OutputRecord::default();
        }
        serde_json::from_slice(body).unwrap_or_default()
    }

    /// Writes it with a seal in the first line.
    pub(super) fn save(&self, folder: &Path) -> io::Result<()> {
        let body = serde_json::to_vec(self)?;
        let text = [seal_of(&body).as_bytes(), b"\n", &body].concat();
        fs::write(folder.join(RECORD), text)
    }

    /// Replaces the record by the one beside the staged files. Doing so twice has the effect of doing it once.
    pub(super) fn take_over(next: &Path, side: &Path) -> io::Result<OutputRecord> {
        match fs::rename(next.join(RECORD), side.join(RECORD)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(OutputRecord::load(side)),
        }
    }
}

/// The first line of a record's file: damage to what follows it is noticed.
fn seal_of(body: &[u8]) -> String {
    Fingerprint::of_bytes(body).to_string()
}

const RECORD: &str = "record.json";

/// Files to move into place and files to remove.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Swap {
    /// From a name in the folder of new files to a path in the output.
    pub(super) moves: Vec<(String, String)>,
    pub(super) removed: Vec<String>,
}

impl Swap {
    /// The swap that a killed run left, if there is one.
    pub(super) fn load(side: &Path) -> Option<Swap> {
        load(&side.join("swap.json"))
    }

    pub(super) fn save(&self, side: &Path) -> io::Result<()> {
        save(self, side, "swap.json")
    }

    /// Whether every path in it stays below the output folder.
    pub(super) fn stays_inside(&self) -> bool {
        let is_below = |path: &String| {
            let mut parts = Path::new(path).components();
            parts.all(|part| matches!(part, Component::Normal(_)))
        };
        let moved = self
            .moves
            .iter()
            .all(|(from, to)| is_below(from) && is_below(to));
        moved && self.removed.iter().all(is_below)
    }

    pub(super) fn clear(side: &Path) -> io::Result<()> {
        match fs::remove_file(side.join("swap.json")) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            other => other,
        }
    }
}

fn load<T: for<'de> Deserialize<'de>>(path: &Path) -> Option<T> {
    serde_json::from_slice(&fs::read(path).ok()?).ok()
}

/// Writes the file under another name first, so that a file of this name is always complete.
fn save<T: Serialize>(value: &T, side: &Path, name: &str) -> io::Result<()> {
    let mut text = serde_json::to_vec(value)?;
    text.push(b'\n');
    let draft = side.join(format!("{name}.draft"));
    fs::write(&draft, text)?;
    fs::rename(draft, side.join(name))
}
