//! A staged write: files are written to a separate folder, then moved into the output together.

use super::error::{OutputError, io_error};
use super::folder::{Output, looks_made};
use super::record::{METADATA, OutputRecord, RecordedFile, Stamp, WrittenFile};
use super::swap::{Move, Removal, Swap, finish_moves};
use super::temporary::TemporaryFolder;
use super::{FileChanges, OutputKey};
use crate::cache::Fingerprint;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The number of folders that staged files are spread over. A file system creates the files of a single
/// folder one after another.
const STAGING_FOLDERS: usize = 16;

/// The files of a run that are not yet in the output folder.
///
/// Any thread can add files. Invariant: each path is added once.
#[derive(Debug)]
pub(crate) struct StagedWrite<'o> {
    output: &'o mut Output,
    /// The folder of the staged files.
    pub(super) next: TemporaryFolder,
    /// Every file of this run, made or kept, by its path in the output.
    files: Mutex<BTreeMap<String, Staged>>,
    /// The number of staged files. It makes their names unique.
    count: AtomicUsize,
    /// Folders of the output that are known not to be links.
    checked_folders: Mutex<BTreeSet<PathBuf>>,
    /// While caches are verified: the files that would have been kept. Each must be made again with the
    /// same content.
    expected: Mutex<BTreeMap<String, Fingerprint>>,
}

/// A file of this run.
#[derive(Debug)]
struct Staged {
    entry: RecordedFile,
    /// Its name in the folder of staged files. None if the file in the output is kept.
    name: Option<String>,
}

impl Output {
    /// Begins a staged write. The output changes only in [`StagedWrite::complete`]; dropping the write
    /// discards it.
    ///
    /// # Errors
    ///
    /// If the folder for staged files can't be cleared and created.
    pub(crate) fn begin(&mut self) -> Result<StagedWrite<'_>, OutputError> {
        let next = self.root.join(METADATA).join("next");
        // A run that was killed before it wrote its swap left this folder. Nothing refers to it.
        if next.exists() {
            fs::remove_dir_all(&next).map_err(io_error("clear", &next))?;
        }
        let folder = TemporaryFolder::at(next.clone()).map_err(io_error("make", &next))?;
        Ok(StagedWrite::new(self, folder))
    }
}

impl<'o> StagedWrite<'o> {
    fn new(output: &'o mut Output, next: TemporaryFolder) -> StagedWrite<'o> {
        StagedWrite {
            output,
            next,
            files: Mutex::default(),
            count: AtomicUsize::default(),
            checked_folders: Mutex::default(),
            expected: Mutex::default(),
        }
    }

    /// Adds a file if the run has no file at this path, and returns whether it did. Atomic.
    fn add(&self, path: &str, entry: RecordedFile, name: Option<String>) -> bool {
        use std::collections::btree_map::Entry::{Occupied, Vacant};
        match lock(&self.files).entry(path.to_owned()) {
            Occupied(_) => false,
            Vacant(vacant) => {
                vacant.insert(Staged { entry, name });
                true
            }
        }
    }

    /// As [`StagedWrite::add`], but a second file at the same path is an error.
    fn add_new(
        &self,
        path: &str,
        entry: RecordedFile,
        name: Option<String>,
    ) -> Result<(), OutputError> {
        if self.add(path, entry, name) {
            Ok(())
        } else {
            let path = path.to_owned();
            Err(OutputError::Twice { path })
        }
    }

    /// Keeps a file of an earlier run if it is unchanged and `is_current` accepts its key. Records the file
    /// with the new key. Returns whether it was kept.
    ///
    /// Also returns false in two other cases. If this run has a file at the path already, the caller
    /// continues to [`StagedWrite::put`] and gets the error there. While caches are verified, the caller
    /// makes the file again.
    pub(crate) fn keep(
        &self,
        path: &str,
        key: &OutputKey,
        is_current: impl Fn(&OutputKey) -> bool,
    ) -> bool {
        let Some(entry) = self.entry_to_keep(path, is_current) else {
            return false;
        };
        if self.output.verify {
            lock(&self.expected).insert(path.to_owned(), entry.written.digest);
            return false;
        }
        self.add_kept(path, key, entry)
    }

    /// As [`StagedWrite::keep`], but without verification, for a file that this run can't make.
    pub(crate) fn keep_unverified(
        &self,
        path: &str,
        key: &OutputKey,
        is_current: impl Fn(&OutputKey) -> bool,
    ) -> bool {
        let entry = self.entry_to_keep(path, is_current);
        entry.is_some_and(|entry| self.add_kept(path, key, entry))
    }

    /// The record's entry of a file, if the file can be kept.
    fn entry_to_keep(
        &self,
        path: &str,
        is_current: impl Fn(&OutputKey) -> bool,
    ) -> Option<&RecordedFile> {
        let entry = self.output.record.files.get(path)?;
        let can_keep = is_current(&entry.key) && self.output.is_as_written(path, entry);
        can_keep.then_some(entry)
    }

    fn add_kept(&self, path: &str, key: &OutputKey, entry: &RecordedFile) -> bool {
        let entry = RecordedFile {
            key: OutputKey {
                // The tool stays the one that made the file, even if the new key has another.
                content: key.content.or(entry.key.content),
                tool: entry.key.tool.clone(),
                inputs: key.inputs,
            },
            ..entry.clone()
        };
        self.add(path, entry, None)
    }

    /// Whether earlier runs recorded a file at this path.
    #[must_use]
    pub(crate) fn is_recorded(&self, path: &str) -> bool {
        self.output.record.files.contains_key(path)
    }

    /// Whether this run has made or kept a file at this path so far.
    #[must_use]
    pub(crate) fn has(&self, path: &str) -> bool {
        lock(&self.files).contains_key(path)
    }

    /// The paths of all files that this run has made or kept so far.
    #[must_use]
    pub(crate) fn paths(&self) -> Vec<String> {
        lock(&self.files).keys().cloned().collect()
    }

    /// The paths of all files that this run has made or kept so far, each with the fingerprint of its content.
    #[must_use]
    pub(crate) fn contents(&self) -> Vec<(String, Fingerprint)> {
        let files = lock(&self.files);
        let files = files.iter();
        files
            .map(|(path, staged)| (path.clone(), staged.entry.written.digest))
            .collect()
    }

    /// The text of a file that this run has made or kept.
    ///
    /// # Errors
    ///
    /// If the file can't be read.
    pub(crate) fn text(&self, path: &str) -> Result<String, OutputError> {
        let files = lock(&self.files);
        let file = match files.get(path).and_then(|staged| staged.name.as_ref()) {
            Some(name) => self.next.path().join(name),
            None => self.output.root.join(path),
        };
        drop(files);
        let bytes = fs::read(&file).map_err(io_error("read", &file))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// The text that a recorded file had before this run. None if the run does not change the file, or if
    /// the file has been removed.
    pub(crate) fn previous_text(&self, path: &str) -> Option<String> {
        let before = self.output.record.files.get(path);
        let after = lock(&self.files)
            .get(path)
            .map(|staged| staged.entry.written.digest);
        match (before, after) {
            (Some(before), Some(after)) if before.written.digest != after => {
                // Somebody may have removed the file.
                let bytes = fs::read(self.output.root.join(path)).ok();
                bytes.map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
            }
            _ => None,
        }
    }

    /// Whether a whole run with the current files would remove files of earlier runs.
    #[must_use]
    pub(crate) fn removes_any(&self) -> bool {
        let files = lock(&self.files);
        let mut recorded = self.output.record.files.keys();
        recorded.any(|path| !files.contains_key(path))
    }

    /// Adds a file. If the output has the same file already, it is kept.
    ///
    /// # Errors
    ///
    /// If the file can't be written, if a foreign file or a link is at its path, or if the run has a file
    /// at this path already.
    ///
    /// # Panics
    ///
    /// While caches are verified, if the file differs from one that would have been kept.
    pub(crate) fn put(&self, path: &str, bytes: &[u8], key: OutputKey) -> Result<(), OutputError> {
        let digest = Fingerprint::of_bytes(bytes);
        self.verify(path, digest);
        let recorded = self.output.record.files.get(path);
        if let Some(entry) = recorded.filter(|entry| entry.written.digest == digest)
            && self.output.is_as_written(path, entry)
        {
            let entry = RecordedFile {
                key,
                ..entry.clone()
            };
            return self.add_new(path, entry, None);
        }
        if let Some((metadata, existing)) = &self.existing_file(path)? {
            if existing == bytes {
                let stamp = Stamp::of(metadata).unwrap_or_default();
                let written = WrittenFile { digest, stamp };
                return self.add_new(path, RecordedFile { written, key }, None);
            }
            // What benchleaf seems to have made is moved aside. Anything else shows that the folder may be another's.
            if recorded.is_none() && !looks_made(path, existing) {
                let path = self.output.root.join(path);
                return Err(OutputError::Foreign { path });
            }
        }
        let number = self.count.fetch_add(1, Ordering::Relaxed);
        let name = format!("{}/{number}", number % STAGING_FOLDERS);
        let stamp = self.stage(&name, bytes)?;
        let written = WrittenFile { digest, stamp };
        self.add_new(path, RecordedFile { written, key }, Some(name))
    }

    /// Compares a new file with the one that would have been kept.
    fn verify(&self, path: &str, digest: Fingerprint) {
        let expected = lock(&self.expected).remove(path);
        assert!(
            expected.is_none_or(|expected| expected == digest),
            "`{path}` would have been kept and differs from the file made anew from the same inputs"
        );
    }

    /// Writes a file to the folder of staged files.
    fn stage(&self, name: &str, bytes: &[u8]) -> Result<Stamp, OutputError> {
        let file = self.next.path().join(name);
        let opened = fs::File::create_new(&file).or_else(|error| match file.parent() {
            Some(folder) if error.kind() == io::ErrorKind::NotFound => {
                // Creates only this folder. A missing parent would be an error.
                match fs::create_dir(folder) {
                    Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(error),
                    _ => fs::File::create_new(&file),
                }
            }
            _ => Err(error),
        });
        let metadata = opened.and_then(|mut open| {
            open.write_all(bytes)?;
            open.metadata()
        });
        let metadata = metadata.map_err(io_error("write", &file))?;
        Ok(Stamp::of(&metadata).unwrap_or_default())
    }

    /// The record of this run's files, and the moves of the staged files.
    pub(super) fn record_and_moves(&self) -> (OutputRecord, Vec<Move>) {
        let mut record = OutputRecord::default();
        let mut moves = Vec::new();
        for (path, staged) in lock(&self.files).iter() {
            record.files.insert(path.clone(), staged.entry.clone());
            let before = self.output.record.files.get(path);
            moves.extend(staged.name.clone().map(|from| Move {
                from,
                to: path.clone(),
                before: before.map(|entry| entry.written),
            }));
        }
        (record, moves)
    }

    /// Moves all files into the output. If `is_whole`, removes files of earlier runs that this run has not
    /// made or kept.
    ///
    /// # Errors
    ///
    /// If a file can't be written. Then either the output is unchanged, or it is half new and the next run completes
    /// it: [`OutputError::HalfNew`].
    ///
    /// # Panics
    ///
    /// While caches are verified, if a file that would have been kept was not made.
    pub(crate) fn complete(self, is_whole: bool) -> Result<FileChanges, OutputError> {
        let missing = lock(&self.expected).pop_first();
        assert!(
            missing.is_none(),
            "a file would have been kept and was not made anew: {missing:?}"
        );
        let (mut record, moves) = self.record_and_moves();
        let (written, unchanged) = (moves.len(), record.files.len() - moves.len());
        let mut changes = std::mem::take(&mut self.output.completed);
        let mut removed = Vec::new();
        for (path, entry) in &self.output.record.files {
            if record.files.contains_key(path) {
                continue;
            }
            if !is_whole {
                record.files.insert(path.clone(), entry.clone());
                continue;
            }
            match self.existing_metadata(path) {
                Ok(None) => {}
                Ok(Some(_)) if self.output.is_as_written(path, entry) => {
                    removed.push(Removal {
                        path: path.clone(),
                        before: entry.written,
                    });
                }
                // It was changed, or it is reached by a link.
                Ok(Some(_)) | Err(_) => changes.left.push(path.clone()),
            }
        }
        if is_whole && self.output.record.files.is_empty() {
            changes.left.extend(self.unrecorded(&record)?);
        }
        (changes.written, changes.unchanged) = (written, unchanged);
        changes.removed = removed.len();
        if moves.is_empty() && removed.is_empty() && record == self.output.record {
            return Ok(changes);
        }
        let metadata = self.output.root.join(METADATA);
        let next = self.next.path();
        record.save(next).map_err(io_error("write", next))?;
        let sync = self.output.settings.sync;
        self.sync_staged(&moves).map_err(io_error("sync", next))?;
        let swap = Swap { moves, removed };
        let moving = finish_moves();
        swap.save(&metadata, sync)
            .map_err(io_error("write", &metadata))?;
        // From here on, the list of moves needs the staged files.
        self.next.keep();
        let done = self.output.complete(&swap, &moving)?;
        changes.moved_aside.extend(done.moved_aside);
        changes.left.extend(done.left);
        Ok(changes)
    }

    /// Writes the staged files and their folders to the disk.
    fn sync_staged(&self, moves: &[Move]) -> io::Result<()> {
        let files = moves.iter().map(|one| self.next.path().join(&one.from));
        let files: Vec<PathBuf> = files.collect();
        let folders: BTreeSet<&Path> = files.iter().filter_map(|file| file.parent()).collect();
        let files = files.iter().map(PathBuf::as_path);
        let next = [self.next.path()];
        // The record is new in each run.
        let record = self.next.path().join(OutputRecord::NAME);
        let all = [record.as_path()].into_iter().chain(files);
        self.output
            .settings
            .sync
            .files(all.chain(folders).chain(next))
    }

    /// Finds files that earlier runs seem to have made, after the record was lost. Nobody makes them again, so old
    /// addresses would show outdated values.
    ///
    /// Searches only folders that have files of this run. Another folder could be a user's copy of an older output.
    fn unrecorded(&self, record: &OutputRecord) -> Result<Vec<String>, OutputError> {
        let folders: BTreeSet<&str> = record
            .files
            .keys()
            .map(|path| path.rsplit_once('/').map_or("", |(folder, _)| folder))
            .collect();
        let mut unrecorded = Vec::new();
        for folder in folders {
            let path = self.output.root.join(folder);
            // A folder that does not exist yet has no old pages.
            let Ok(entries) = fs::read_dir(&path) else {
                continue;
            };
            for entry in entries.filter_map(Result::ok) {
                let name = entry.file_name();
                let Some(name) = name.to_str() else { continue };
                let path = [folder, name].join("/");
                let path = path.trim_start_matches('/').to_owned();
                let is_file = entry.file_type().is_ok_and(|kind| kind.is_file());
                if !is_file || record.files.contains_key(&path) {
                    continue;
                }
                let existing = self.existing_file(&path)?;
                if existing.is_some_and(|(_, content)| looks_made(&path, &content)) {
                    unrecorded.push(path);
                }
            }
        }
        // A directory lists its entries in no fixed order.
        unrecorded.sort();
        Ok(unrecorded)
    }

    /// The metadata and content of the file at a path of the output, as [`StagedWrite::existing_metadata`].
    fn existing_file(&self, path: &str) -> Result<Option<(fs::Metadata, Vec<u8>)>, OutputError> {
        let Some(metadata) = self.existing_metadata(path)? else {
            return Ok(None);
        };
        let file = self.output.root.join(path);
        let bytes = fs::read(&file).map_err(io_error("read", &file))?;
        Ok(Some((metadata, bytes)))
    }

    /// The metadata of the file at a path of the output. None if there is no file.
    ///
    /// A symbolic link in the path is an error: benchleaf makes no links, and the target is not ours to
    /// write.
    fn existing_metadata(&self, path: &str) -> Result<Option<fs::Metadata>, OutputError> {
        let mut full_path = self.output.root.clone();
        let mut file = None;
        let mut parts = path.split('/').peekable();
        while let Some(part) = parts.next() {
            full_path.push(part);
            let is_folder = parts.peek().is_some();
            if is_folder && lock(&self.checked_folders).contains(&full_path) {
                continue;
            }
            match fs::symlink_metadata(&full_path) {
                Ok(metadata) if metadata.file_type().is_symlink() => {
                    return Err(OutputError::Foreign { path: full_path });
                }
                // A file in place of a folder, or a folder in place of a file.
                Ok(metadata) if metadata.is_dir() != is_folder => {
                    return Err(OutputError::Foreign { path: full_path });
                }
                Ok(_) if is_folder => {
                    lock(&self.checked_folders).insert(full_path.clone());
                }
                Ok(metadata) => file = Some(metadata),
                Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
                Err(error) => return Err(io_error("read", &full_path)(error)),
            }
        }
        Ok(file)
    }
}

/// Locks a mutex, even if it is poisoned. A thread that panicked can't have left an inconsistent value,
/// because each entry is inserted by a single call.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
