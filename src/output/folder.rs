//! The output folder: what is in it, which files are ours, and the completion of a swap.

use super::MARK;
use super::error::{OutputError, failed};
use super::record::{OutputRecord, RecordedFile, Stamp, Swap};
use crate::cache::{self, Fingerprint};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The folder of the record and of staged files, in the output folder.
pub(super) const SIDE: &str = ".benchleaf";

/// An output folder.
///
/// Invariant: while it exists, no other run writes to the folder.
#[derive(Debug)]
pub(crate) struct Output {
    pub(super) root: PathBuf,
    pub(super) record: OutputRecord,
    /// Whether a file that could be kept is made again and compared.
    pub(super) verify: bool,
    _lock: fs::File,
}

impl Output {
    /// Opens the folder, creates it if it is missing, and completes the swap of a run that was killed.
    ///
    /// # Errors
    ///
    /// When the folder can't be made, written or locked.
    pub(crate) fn open(root: &Path) -> Result<Output, OutputError> {
        let side = root.join(SIDE);
        fs::create_dir_all(&side).map_err(failed("make", &side))?;
        let lock_path = side.join("lock");
        let lock = fs::OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&lock_path)
            .map_err(failed("write", &lock_path))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(fs::TryLockError::WouldBlock) => {
                return Err(OutputError::Busy {
                    root: root.to_owned(),
                });
            }
            Err(fs::TryLockError::Error(error)) => return Err(failed("lock", &lock_path)(error)),
        }
        let mut output = Output {
            root: root.to_owned(),
            record: OutputRecord::load(&side),
            verify: cache::verifies(),
            _lock: lock,
        };
        // We never write a list with paths that lead out of the folder.
        if let Some(swap) = Swap::load(&side).filter(Swap::stays_inside) {
            output.complete(&swap)?;
        }
        Ok(output)
    }

    /// Whether a file of ours is still as it was written. Its size and its time of writing decide, as
    /// in version control; where they differ, as on a copy, its content does.
    pub(super) fn is_as_written(&self, path: &str, entry: &RecordedFile) -> bool {
        let file = self.root.join(path);
        let found = fs::symlink_metadata(&file).ok();
        found.is_some_and(|found| {
            found.is_file()
                && (Stamp::of(&found).is_some_and(|stamp| stamp == entry.stamp)
                    || fs::read(&file)
                        .is_ok_and(|bytes| Fingerprint::of_bytes(&bytes) == entry.digest))
        })
    }

    /// Whether the file at a path is what we wrote there, or has our mark: so a lost record
    /// costs time and nothing else, and a file that somebody put in our place stays.
    pub(super) fn is_ours(&self, path: &str, there: &[u8]) -> bool {
        let entry = self.record.files.get(path);
        let digest = Fingerprint::of_bytes(there);
        // A figure's name has the first digits of the fingerprint of its content.
        let names_itself = path.contains(&digest.short());
        let is_marked = there
            .windows(MARK.len())
            .any(|window| window == MARK.as_bytes());
        // A power failure leaves an empty file.
        entry.is_some_and(|entry| entry.digest == digest || there.is_empty())
            || names_itself
            || is_marked
    }

    /// Carries out a swap. Doing so twice has the effect of doing it once.
    pub(super) fn complete(&mut self, swap: &Swap) -> Result<(), OutputError> {
        let side = self.root.join(SIDE);
        let next = side.join("next");
        let places = swap.moves.iter().map(|(_, path)| self.root.join(path));
        let folders: BTreeSet<PathBuf> = places
            .filter_map(|place| place.parent().map(Path::to_owned))
            .collect();
        for folder in folders {
            fs::create_dir_all(&folder).map_err(failed("make", &folder))?;
        }
        swap.moves.par_iter().try_for_each(|(name, path)| {
            let (from, to) = (next.join(name), self.root.join(path));
            match fs::rename(&from, &to) {
                // Moved before the run was killed.
                Err(error) if error.kind() == io::ErrorKind::NotFound && !from.exists() => Ok(()),
                moved => moved.map_err(failed("write", &to)),
            }
        })?;
        for path in &swap.removed {
            let file = self.root.join(path);
            match fs::remove_file(&file) {
                Ok(()) => {}
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(error) => return Err(failed("remove", &file)(error)),
            }
            // Fails where the folder still holds something: then it stays.
            if let Some(folder) = file.parent().filter(|folder| *folder != self.root) {
                let _ = fs::remove_dir(folder);
            }
        }
        self.record = OutputRecord::take_over(&next, &side).map_err(failed("write", &side))?;
        Swap::clear(&side).map_err(failed("clear", &side))?;
        let _ = fs::remove_dir_all(&next);
        Ok(())
    }
}
