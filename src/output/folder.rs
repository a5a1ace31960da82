//! The output folder: recognizes the files that benchleaf wrote, and completes swaps.

use super::MARK;
use super::error::{OutputError, io_error};
use super::record::{OutputRecord, RecordedFile, Stamp, Swap};
use crate::cache::{self, Fingerprint};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The subfolder of the output with the record and the staged files.
pub(super) const METADATA: &str = ".benchleaf";

/// An output folder.
///
/// Invariant: while it exists, no other run writes to the folder.
#[derive(Debug)]
pub(crate) struct Output {
    pub(super) root: PathBuf,
    pub(super) record: OutputRecord,
    /// Whether caches are verified: a file that could be kept is made again and compared.
    pub(super) verify: bool,
    _lock: fs::File,
}

impl Output {
    /// Opens the folder, or creates it, and completes the swap of a run that was killed.
    ///
    /// # Errors
    ///
    /// If the folder can't be created, written or locked.
    pub(crate) fn open(root: &Path) -> Result<Output, OutputError> {
        let metadata = root.join(METADATA);
        fs::create_dir_all(&metadata).map_err(io_error("make", &metadata))?;
        let lock_path = metadata.join("lock");
        let lock = fs::OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&lock_path)
            .map_err(io_error("write", &lock_path))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(fs::TryLockError::WouldBlock) => {
                return Err(OutputError::Busy {
                    root: root.to_owned(),
                });
            }
            Err(fs::TryLockError::Error(error)) => return Err(io_error("lock", &lock_path)(error)),
        }
        let mut output = Output {
            root: root.to_owned(),
            record: OutputRecord::load(&metadata),
            verify: cache::verifies(),
            _lock: lock,
        };
        // A swap with a path that leaves the folder is not ours.
        if let Some(swap) = Swap::load(&metadata).filter(Swap::stays_inside) {
            output.complete(&swap)?;
        }
        Ok(output)
    }

    /// Whether a recorded file is unchanged. Compares its size and time as version control does. If they
    /// differ, as they do in a copy, compares the content.
    pub(super) fn is_as_written(&self, path: &str, entry: &RecordedFile) -> bool {
        let file = self.root.join(path);
        let metadata = fs::symlink_metadata(&file).ok();
        metadata.is_some_and(|metadata| {
            metadata.is_file()
                && (Stamp::of(&metadata).is_some_and(|stamp| stamp == entry.stamp)
                    || fs::read(&file)
                        .is_ok_and(|bytes| Fingerprint::of_bytes(&bytes) == entry.digest))
        })
    }

    /// Whether benchleaf wrote the current content of a file, by the record or by signs in the file itself.
    /// The signs matter when the record is lost. A file that somebody else put there is never overwritten.
    pub(super) fn is_ours(&self, path: &str, content: &[u8]) -> bool {
        let entry = self.record.files.get(path);
        let digest = Fingerprint::of_bytes(content);
        // The path of a figure has the first digits of the fingerprint of its content.
        let has_content_mark = path.contains(&digest.short());
        let is_marked = content
            .windows(MARK.len())
            .any(|window| window == MARK.as_bytes());
        // A power failure can leave an empty file.
        entry.is_some_and(|entry| entry.digest == digest || content.is_empty())
            || has_content_mark
            || is_marked
    }

    /// Carries out a swap. Idempotent.
    pub(super) fn complete(&mut self, swap: &Swap) -> Result<(), OutputError> {
        let metadata = self.root.join(METADATA);
        let next = metadata.join("next");
        let targets = swap.moves.iter().map(|(_, path)| self.root.join(path));
        let folders: BTreeSet<PathBuf> = targets
            .filter_map(|target| target.parent().map(Path::to_owned))
            .collect();
        for folder in folders {
            fs::create_dir_all(&folder).map_err(io_error("make", &folder))?;
        }
        swap.moves.par_iter().try_for_each(|(name, path)| {
            let (from, to) = (next.join(name), self.root.join(path));
            match fs::rename(&from, &to) {
                // The killed run has moved this file already.
                Err(error) if error.kind() == io::ErrorKind::NotFound && !from.exists() => Ok(()),
                result => result.map_err(io_error("write", &to)),
            }
        })?;
        for path in &swap.removed {
            let file = self.root.join(path);
            match fs::remove_file(&file) {
                Ok(()) => {}
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(error) => return Err(io_error("remove", &file)(error)),
            }
            // Fails if the folder is not empty; then it stays.
            if let Some(folder) = file.parent().filter(|folder| *folder != self.root) {
                let _ = fs::remove_dir(folder);
            }
        }
        self.record =
            OutputRecord::install(&next, &metadata).map_err(io_error("write", &metadata))?;
        Swap::clear(&metadata).map_err(io_error("clear", &metadata))?;
        let _ = fs::remove_dir_all(&next);
        Ok(())
    }
}
