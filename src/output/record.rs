//! Which files are ours, and what is about to be done to them.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Component, Path};

/// Every file that benchleaf wrote, by its path in the output.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Record {
    pub(super) files: BTreeMap<String, Entry>,
}

/// A file that benchleaf wrote.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Entry {
    /// Of its bytes.
    pub(super) digest: String,
    /// Of what it was made from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) content: Option<String>,
    /// What it was made with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) tool: Option<String>,
}

impl Record {
    /// The record in a side folder; an empty one where there is none, or none that can be read:
    /// then everything is made again.
    pub(super) fn load(side: &Path) -> Record {
        load(&side.join("record.json")).unwrap_or_default()
    }

    pub(super) fn save(&self, side: &Path) -> io::Result<()> {
        save(self, side, "record.json")
    }
}

/// Files to move into place and files to remove, and the record after that.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Swap {
    /// From a name in the folder of new files to a path in the output.
    pub(super) moves: Vec<(String, String)>,
    pub(super) removed: Vec<String>,
    pub(super) record: Record,
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

/// Written under another name first: a file of this name is whole or not there.
fn save<T: Serialize>(value: &T, side: &Path, name: &str) -> io::Result<()> {
    let mut text = serde_json::to_vec_pretty(value)?;
    text.push(b'\n');
    let draft = side.join(format!("{name}.draft"));
    fs::write(&draft, text)?;
    fs::rename(draft, side.join(name))
}
