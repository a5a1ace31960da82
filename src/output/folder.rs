//! The output folder: recognizes the files that benchleaf wrote, and completes the run that was stopped.

use super::error::{OutputError, io_error};
use super::record::{METADATA, OutputRecord, RecordedFile};
use super::swap::{Swap, finish_moves};
use super::{FileChanges, MARK, OutputSettings};
use crate::cache::{self, Fingerprint};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::MutexGuard;

/// An output folder.
///
/// Invariant: while it exists, no other run writes to the folder.
#[derive(Debug)]
pub(crate) struct Output {
    pub(super) root: PathBuf,
    pub(super) settings: OutputSettings,
    /// Empty if the record is missing or damaged.
    pub(super) record: OutputRecord,
    /// What was done to complete a run that was stopped.
    pub(super) completed: FileChanges,
    /// Whether caches are verified: a file that could be kept is made again and compared.
    pub(super) verify: bool,
    _lock: fs::File,
}

impl Output {
    /// Opens the folder, or creates it, and completes a run that was stopped while it moved files.
    ///
    /// # Errors
    ///
    /// If the folder can't be created, written or locked, or if the run can't be completed.
    pub(crate) fn open(root: &Path, settings: OutputSettings) -> Result<Output, OutputError> {
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
        let unreadable = |error| io_error("read", &metadata)(error);
        let record = OutputRecord::load(&metadata).map_err(unreadable)?;
        let mut output = Output {
            root: root.to_owned(),
            settings,
            record: record.unwrap_or_default(),
            completed: FileChanges::default(),
            verify: cache::verifies(),
            _lock: lock,
        };
        if let Some(swap) = Swap::load(&metadata).map_err(unreadable)? {
            output.completed = output.complete(&swap, &finish_moves())?;
        }
        Ok(output)
    }

    /// Completes the run that was stopped while it moved files into the folder, if there is one. Returns what it did.
    ///
    /// # Errors
    ///
    /// If it can't be completed, or if another run is writing to the folder.
    pub(crate) fn complete_stopped_run(
        root: &Path,
        settings: OutputSettings,
    ) -> Result<Option<FileChanges>, OutputError> {
        let metadata = root.join(METADATA);
        if !Swap::exists(&metadata).map_err(io_error("read", &metadata))? {
            return Ok(None);
        }
        Ok(Some(Output::open(root, settings)?.completed))
    }

    /// Whether a recorded file is unchanged.
    pub(super) fn is_as_written(&self, path: &str, entry: &RecordedFile) -> bool {
        entry
            .written
            .is_at(&self.root.join(path), self.settings.rehashes)
            // It is made again, and looked at again before it is replaced.
            .unwrap_or(false)
    }

    /// Carries out a swap. Idempotent. A signal that ends the program waits for the guard.
    pub(super) fn complete(
        &mut self,
        swap: &Swap,
        _moving: &MutexGuard<'_, ()>,
    ) -> Result<FileChanges, OutputError> {
        let metadata = self.root.join(METADATA);
        let next = metadata.join("next");
        let half_new = |error: OutputError| OutputError::HalfNew {
            root: self.root.clone(),
            error: Box::new(error),
        };
        let changes = swap
            .carry_out(&self.root, self.settings)
            .map_err(half_new)?;
        OutputRecord::install(&next, &metadata)
            .and_then(|()| self.settings.sync.files([metadata.as_path()]))
            .and_then(|()| Swap::clear(&metadata))
            .map_err(|error| half_new(io_error("write", &metadata)(error)))?;
        let record = OutputRecord::load(&metadata).map_err(io_error("read", &metadata))?;
        self.record = record.unwrap_or_default();
        let _ = fs::remove_dir_all(&next);
        Ok(changes)
    }
}

/// Whether the content of a file shows that this program may have made it. It is no proof: a page that a reader saved
/// has the same mark, so such a file is never overwritten or removed.
pub(super) fn looks_made(path: &str, content: &[u8]) -> bool {
    let has_mark = memchr::memmem::find(content, MARK.as_bytes()).is_some();
    // The path of a figure has the first digits of the fingerprint of its content.
    has_mark || path.contains(&Fingerprint::of_bytes(content).short())
}
