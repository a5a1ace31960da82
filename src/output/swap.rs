//! The list of the moves and removals that bring the files of a run into the output.
//!
//! The list is written before the first move, so that the next run can complete it. Carrying it out is idempotent.
//! A file that benchleaf did not write is never overwritten or removed, even if it appeared after the list was
//! written.

use super::error::{OutputError, io_error};
use super::record::{METADATA, WrittenFile, load, save};
use super::sync::Syncing;
use super::{FileChanges, MovedAside, OutputSettings};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Component, Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The name of the list's file.
const SWAP: &str = "swap.json";

/// The folder in the output that files which are in the way are moved to.
const MOVED_ASIDE: &str = "moved-aside";

/// Locked while files are moved.
static MOVING: Mutex<()> = Mutex::new(());

/// Waits until no files are being moved. None are moved while the guard exists.
pub(crate) fn finish_moves() -> MutexGuard<'static, ()> {
    MOVING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Files to move into place and files to remove.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Swap {
    pub(super) moves: Vec<Move>,
    pub(super) removed: Vec<Removal>,
}

/// A staged file to move into the output.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Move {
    /// The name in the folder of staged files.
    pub(super) from: String,
    /// The path in the output.
    pub(super) to: String,
    /// The file that benchleaf wrote there before. None if it recorded none.
    pub(super) before: Option<WrittenFile>,
}

/// A file to remove from the output.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct Removal {
    pub(super) path: String,
    /// The file that benchleaf wrote there.
    pub(super) before: WrittenFile,
}

impl Swap {
    /// Loads the swap of a run that did not end. None if there is none, if its checksum is wrong, or if a path leaves
    /// the output folder: then it is not ours.
    ///
    /// # Errors
    ///
    /// If the file can't be read.
    pub(super) fn load(folder: &Path) -> io::Result<Option<Swap>> {
        Ok(load(&folder.join(SWAP))?.filter(Swap::stays_inside))
    }

    /// Whether there is a swap, valid or not.
    ///
    /// # Errors
    ///
    /// If it can't be found out.
    pub(super) fn exists(folder: &Path) -> io::Result<bool> {
        match folder.join(SWAP).try_exists() {
            // The output is a file, as making its folder will say.
            Err(error) if error.kind() == io::ErrorKind::NotADirectory => Ok(false),
            result => result,
        }
    }

    /// Writes to a temporary name first, so that a file of this name is always complete.
    pub(super) fn save(&self, folder: &Path, sync: Syncing) -> io::Result<()> {
        let draft = folder.join("swap.json.draft");
        save(self, &draft)?;
        sync.files([draft.as_path()])?;
        fs::rename(draft, folder.join(SWAP))?;
        sync.files([folder])
    }

    pub(super) fn clear(folder: &Path) -> io::Result<()> {
        match fs::remove_file(folder.join(SWAP)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(()),
            result => result,
        }
    }

    fn stays_inside(&self) -> bool {
        let is_inside = |path: &str| {
            let mut parts = Path::new(path).components();
            parts.all(|part| matches!(part, Component::Normal(_)))
        };
        let mut moves = self.moves.iter();
        let mut removed = self.removed.iter();
        moves.all(|one| is_inside(&one.from) && is_inside(&one.to))
            && removed.all(|one| is_inside(&one.path))
    }

    /// Moves and removes the files, and syncs the folders that changed.
    ///
    /// The order keeps a half-new output usable: new files first, so that no page links to one that is missing; then
    /// changed ones; then those at the root, which lead to all others; removals last.
    ///
    /// # Errors
    ///
    /// If a file can't be moved or removed. The output is then half new, until the list is carried out again.
    pub(super) fn carry_out(
        &self,
        root: &Path,
        settings: OutputSettings,
    ) -> Result<FileChanges, OutputError> {
        let next = root.join(METADATA).join("next");
        let is_at_root = |one: &&Move| !one.to.contains('/');
        let (at_root, inside): (Vec<&Move>, Vec<&Move>) = self.moves.iter().partition(is_at_root);
        let (changed, new): (Vec<&Move>, Vec<&Move>) =
            inside.into_iter().partition(|one| one.before.is_some());
        let mut folders: BTreeSet<PathBuf> = BTreeSet::new();
        for one in &self.moves {
            let mut folder = root.join(&one.to);
            // A new folder is an entry of the folder above it, which is then to be synced as well.
            while folder.pop() && folder.starts_with(root) && folders.insert(folder.clone()) {}
        }
        for folder in &folders {
            fs::create_dir_all(folder).map_err(io_error("make", folder))?;
        }
        let mut done = FileChanges::default();
        for group in [new, changed, at_root] {
            let aside: Result<Vec<Option<MovedAside>>, OutputError> = group
                .par_iter()
                .map(|one| one.carry_out(root, &next, settings.rehashes))
                .collect();
            done.moved_aside.extend(aside?.into_iter().flatten());
        }
        for one in &self.removed {
            if !one.carry_out(root, settings.rehashes)? {
                done.left.push(one.path.clone());
            }
            folders.extend(root.join(&one.path).parent().map(Path::to_owned));
        }
        folders.retain(|folder| folder.exists());
        let metadata = root.join(METADATA);
        settings
            .sync
            .files(folders.iter().map(PathBuf::as_path))
            .map_err(io_error("sync", &metadata))?;
        Ok(done)
    }
}

impl Move {
    /// Moves the file into place. Moves a file that benchleaf did not write out of the way first, and returns its places.
    fn carry_out(
        &self,
        root: &Path,
        next: &Path,
        rehashes: bool,
    ) -> Result<Option<MovedAside>, OutputError> {
        let (from, to) = (next.join(&self.from), root.join(&self.to));
        // A run that was killed has moved this file already.
        if !from.try_exists().map_err(io_error("read", &from))? {
            return Ok(None);
        }
        let is_ours = match &self.before {
            Some(before) => before.is_at(&to, rehashes).map_err(io_error("read", &to))?,
            None => false,
        };
        let aside = if is_ours {
            None
        } else {
            move_aside(root, &self.to)?
        };
        fs::rename(&from, &to).map_err(io_error("write", &to))?;
        Ok(aside)
    }
}

impl Removal {
    /// Removes the file. Returns false if benchleaf did not write it: then it stays.
    fn carry_out(&self, root: &Path, rehashes: bool) -> Result<bool, OutputError> {
        let file = root.join(&self.path);
        let is_ours = self.before.is_at(&file, rehashes);
        if !is_ours.map_err(io_error("read", &file))? {
            return Ok(fs::symlink_metadata(&file).is_err());
        }
        fs::remove_file(&file).map_err(io_error("remove", &file))?;
        // Fails if the folder is not empty; then it stays.
        if let Some(folder) = file.parent().filter(|folder| *folder != root) {
            let _ = fs::remove_dir(folder);
        }
        Ok(true)
    }
}

/// Moves what is at a path of the output to a folder for such files. None if nothing is there.
fn move_aside(root: &Path, path: &str) -> Result<Option<MovedAside>, OutputError> {
    let from = root.join(path);
    if fs::symlink_metadata(&from).is_err() {
        return Ok(None);
    }
    // A file that was moved aside before is not overwritten either.
    let names = std::iter::once(MOVED_ASIDE.to_owned())
        .chain((2_u32..).map(|number| format!("{MOVED_ASIDE}-{number}")));
    for name in names {
        let to = format!("{name}/{path}");
        let target = root.join(&to);
        if fs::symlink_metadata(&target).is_ok() {
            continue;
        }
        if let Some(folder) = target.parent() {
            fs::create_dir_all(folder).map_err(io_error("make", folder))?;
        }
        fs::rename(&from, &target).map_err(io_error("write", &target))?;
        let path = path.to_owned();
        return Ok(Some(MovedAside { path, to }));
    }
    Ok(None)
}
