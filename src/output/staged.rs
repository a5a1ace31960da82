//! A staged write: files are written beside the output, and moved into place together.

use super::error::{OutputError, failed};
use super::folder::{Output, SIDE};
use super::record::{OutputRecord, RecordedFile, Stamp, Swap};
use super::{FileCounts, OutputKey};
use crate::cache::Fingerprint;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Staged files are spread over this many folders, because a file system creates the files of one
/// folder one after another.
const FOLDERS: usize = 16;

/// The files of one run on their way into an output folder.
///
/// Any thread may add files. Invariant: a path is added once.
#[derive(Debug)]
pub(crate) struct StagedWrite<'o> {
    output: &'o mut Output,
    /// The folder of the staged files.
    next: PathBuf,
    /// Every file of this run by its path in the output, made or kept.
    files: Mutex<BTreeMap<String, Staged>>,
    /// How many files were staged: names the next one.
    count: AtomicUsize,
    /// Folders of the output that were looked at, and are not links.
    plain: Mutex<BTreeSet<PathBuf>>,
    /// [`FileCounts::restored`] so far.
    restored: AtomicUsize,
    /// While caches are verified: the files that would have been kept, and have to be put as they are.
    expected: Mutex<BTreeMap<String, Fingerprint>>,
}

/// A file of this run.
#[derive(Debug)]
struct Staged {
    entry: RecordedFile,
    /// Its name in the folder of staged files; none where the file in the output stays.
    name: Option<String>,
}

impl Output {
    /// Begins a staged write: files are added one by one, from any thread, and the output changes
    /// only when the write is completed. One that is dropped has changed nothing.
    ///
    /// # Errors
    ///
    /// When the folder for new files can't be cleared and made.
    pub(crate) fn begin(&mut self) -> Result<StagedWrite<'_>, OutputError> {
        let next = self.root.join(SIDE).join("next");
        // Left by a run that was killed before it had a list: nothing refers to it.
        if next.exists() {
            fs::remove_dir_all(&next).map_err(failed("clear", &next))?;
        }
        fs::create_dir(&next).map_err(failed("make", &next))?;
        Ok(StagedWrite::new(self, next))
    }
}

impl<'o> StagedWrite<'o> {
    /// An empty staged write, with `next` as the folder of its files.
    fn new(output: &'o mut Output, next: PathBuf) -> StagedWrite<'o> {
        StagedWrite {
            output,
            next,
            files: Mutex::default(),
            count: AtomicUsize::default(),
            plain: Mutex::default(),
            restored: AtomicUsize::default(),
            expected: Mutex::default(),
        }
    }

    /// Adds a file, unless the run has one at its path already: the check and the insertion are one
    /// operation. Says whether it was added.
    fn add(&self, path: &str, entry: RecordedFile, name: Option<String>) -> bool {
        use std::collections::btree_map::Entry::{Occupied, Vacant};
        match locked(&self.files).entry(path.to_owned()) {
            Occupied(_) => false,
            Vacant(place) => {
                place.insert(Staged { entry, name });
                true
            }
        }
    }

    /// As [`StagedWrite::add`], where a second file at the same path is an error.
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

    /// Keeps a file of an earlier run, if there is one that is still as it was written and whose key
    /// passes `will_do`. The file is then recorded under the new key.
    ///
    /// False also where this run has a file at the path already, so that the caller's own file is
    /// refused by [`StagedWrite::put`]; and while caches are verified, so that the caller makes the
    /// file again.
    pub(crate) fn keep(
        &self,
        path: &str,
        key: &OutputKey,
        will_do: impl Fn(&OutputKey) -> bool,
    ) -> bool {
        let Some(entry) = self.kept(path, will_do) else {
            return false;
        };
        if self.output.verify {
            locked(&self.expected).insert(path.to_owned(), entry.digest);
            return false;
        }
        self.add_kept(path, key, entry)
    }

    /// As [`StagedWrite::keep`], for a file that this run can't make: it is never verified.
    pub(crate) fn keep_unverified(
        &self,
        path: &str,
        key: &OutputKey,
        will_do: impl Fn(&OutputKey) -> bool,
    ) -> bool {
        let entry = self.kept(path, will_do);
        entry.is_some_and(|entry| self.add_kept(path, key, entry))
    }

    /// The entry of a file that may be kept.
    fn kept(&self, path: &str, will_do: impl Fn(&OutputKey) -> bool) -> Option<&RecordedFile> {
        let entry = self.output.record.files.get(path)?;
        let may_stay = will_do(&entry.key) && self.output.is_as_written(path, entry);
        may_stay.then_some(entry)
    }

    fn add_kept(&self, path: &str, key: &OutputKey, entry: &RecordedFile) -> bool {
        let entry = RecordedFile {
            key: OutputKey {
                // The file keeps the version of the tool that made it.
                content: key.content.or(entry.key.content),
                tool: entry.key.tool.clone(),
                inputs: key.inputs,
            },
            ..entry.clone()
        };
        self.add(path, entry, None)
    }

    /// Whether a file is in the record of the earlier runs.
    #[must_use]
    pub(crate) fn was_there(&self, path: &str) -> bool {
        self.output.record.files.contains_key(path)
    }

    /// Whether a file is among those made or kept so far.
    #[must_use]
    pub(crate) fn has(&self, path: &str) -> bool {
        locked(&self.files).contains_key(path)
    }

    /// Every file that was made or kept so far.
    #[must_use]
    pub(crate) fn paths(&self) -> Vec<String> {
        locked(&self.files).keys().cloned().collect()
    }

    /// The text of a file that was made or kept.
    ///
    /// # Errors
    ///
    /// When it can't be read.
    pub(crate) fn text(&self, path: &str) -> Result<String, OutputError> {
        let files = locked(&self.files);
        let file = match files.get(path).and_then(|staged| staged.name.as_ref()) {
            Some(name) => self.next.join(name),
            None => self.output.root.join(path),
        };
        drop(files);
        let bytes = fs::read(&file).map_err(failed("read", &file))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// The text that a file of ours has, where this run gives it another.
    ///
    /// # Errors
    ///
    /// When it can't be read.
    pub(crate) fn text_before(&self, path: &str) -> Result<Option<String>, OutputError> {
        let before = self.output.record.files.get(path);
        let after = locked(&self.files)
            .get(path)
            .map(|staged| staged.entry.digest);
        match (before, after) {
            (Some(before), Some(after)) if before.digest != after => {
                // Somebody may have removed it meanwhile.
                let bytes = fs::read(self.output.root.join(path)).ok();
                Ok(bytes.map(|bytes| String::from_utf8_lossy(&bytes).into_owned()))
            }
            _ => Ok(None),
        }
    }

    /// Whether files of earlier runs would be removed if the run were whole with the files so far.
    #[must_use]
    pub(crate) fn removes_any(&self) -> bool {
        let files = locked(&self.files);
        let mut before = self.output.record.files.keys();
        before.any(|path| !files.contains_key(path))
    }

    /// Adds a file with its bytes. One that is in the output already with the same bytes stays.
    ///
    /// # Errors
    ///
    /// When it can't be written, when a file that is not ours is in its place or a link on the way,
    /// or when the run has a file at this path already.
    ///
    /// # Panics
    ///
    /// While caches are verified, when a file that would have been kept differs from it.
    pub(crate) fn put(&self, path: &str, bytes: &[u8], key: OutputKey) -> Result<(), OutputError> {
        let digest = Fingerprint::of_bytes(bytes);
        self.verify(path, digest);
        let known = self.output.record.files.get(path);
        if let Some(entry) = known.filter(|entry| entry.digest == digest)
            && self.output.is_as_written(path, entry)
        {
            let entry = RecordedFile {
                key,
                ..entry.clone()
            };
            return self.add_new(path, entry, None);
        }
        if let Some((found, there)) = &self.there(path)? {
            if there == bytes {
                let stamp = Stamp::of(found).unwrap_or_default();
                return self.add_new(path, RecordedFile { digest, stamp, key }, None);
            }
            if !self.output.is_ours(path, there) {
                let path = self.output.root.join(path);
                return Err(OutputError::Foreign { path });
            }
            if known.is_some_and(|entry| entry.digest != Fingerprint::of_bytes(there)) {
                self.restored.fetch_add(1, Ordering::Relaxed);
            }
        }
        let number = self.count.fetch_add(1, Ordering::Relaxed);
        let name = format!("{}/{number}", number % FOLDERS);
        let stamp = self.stage(&name, bytes)?;
        self.add_new(path, RecordedFile { digest, stamp, key }, Some(name))
    }

    /// Compares a file that is put with the one that would have been kept in its place.
    fn verify(&self, path: &str, digest: Fingerprint) {
        let expected = locked(&self.expected).remove(path);
        assert!(
            expected.is_none_or(|expected| expected == digest),
            "`{path}` would have been kept and differs from the file made anew from the same inputs"
        );
    }

    /// Writes a file to the folder of staged files.
    fn stage(&self, name: &str, bytes: &[u8]) -> Result<Stamp, OutputError> {
        let file = self.next.join(name);
        let opened = fs::File::create_new(&file).or_else(|error| match file.parent() {
            Some(folder) if error.kind() == io::ErrorKind::NotFound => {
                // Only this folder: where the one above it is gone, something is wrong.
                match fs::create_dir(folder) {
                    Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(error),
                    _ => fs::File::create_new(&file),
                }
            }
            _ => Err(error),
        });
        let written = opened.and_then(|mut open| {
            open.write_all(bytes)?;
            open.metadata()
        });
        let found = written.map_err(failed("write", &file))?;
        Ok(Stamp::of(&found).unwrap_or_default())
    }

    /// The record of this run alone, and the staged files with the paths they move to.
    pub(super) fn staged(&self) -> (OutputRecord, Vec<(String, String)>) {
        let mut record = OutputRecord::default();
        let mut moves = Vec::new();
        for (path, staged) in locked(&self.files).iter() {
            record.files.insert(path.clone(), staged.entry.clone());
            moves.extend(staged.name.clone().map(|name| (name, path.clone())));
        }
        (record, moves)
    }

    /// Moves all files to their places. With `whole`, files of earlier runs that are not among them
    /// are removed.
    ///
    /// # Errors
    ///
    /// When something can't be written. Then either nothing has been moved or removed, or the next
    /// run completes what this one began.
    ///
    /// # Panics
    ///
    /// While caches are verified, when a file that would have been kept was not made.
    pub(crate) fn complete(self, whole: bool) -> Result<FileCounts, OutputError> {
        let missing = locked(&self.expected).pop_first();
        assert!(
            missing.is_none(),
            "a file would have been kept and was not made anew: {missing:?}"
        );
        let (mut record, moves) = self.staged();
        let mut counts = FileCounts {
            written: moves.len(),
            unchanged: record.files.len() - moves.len(),
            removed: 0,
            restored: self.restored.load(Ordering::Relaxed),
        };
        let mut removed = Vec::new();
        for (path, entry) in &self.output.record.files {
            if record.files.contains_key(path) {
                continue;
            }
            if !whole {
                record.files.insert(path.clone(), entry.clone());
            } else if self
                .there(path)?
                .is_some_and(|(_, there)| self.output.is_ours(path, &there))
            {
                removed.push(path.clone());
            }
        }
        if whole && self.output.record.files.is_empty() {
            removed.extend(self.unrecorded(&record)?);
        }
        counts.removed = removed.len();
        if moves.is_empty() && removed.is_empty() && record == self.output.record {
            let _ = fs::remove_dir_all(&self.next);
            return Ok(counts);
        }
        let side = self.output.root.join(SIDE);
        record
            .save(&self.next)
            .map_err(failed("write", &self.next))?;
        let swap = Swap { moves, removed };
        swap.save(&side).map_err(failed("write", &side))?;
        self.output.complete(&swap)?;
        Ok(counts)
    }

    /// Pages of ours that no record lists any more, known by their mark. If they stayed, an old
    /// address would open old values for good.
    ///
    /// Only beside pages of this run: a copy of an older output, kept in a folder of its own, has
    /// pages with the mark too.
    fn unrecorded(&self, record: &OutputRecord) -> Result<Vec<String>, OutputError> {
        let folders: BTreeSet<&str> = record
            .files
            .keys()
            .map(|path| path.rsplit_once('/').map_or("", |(folder, _)| folder))
            .collect();
        let mut unrecorded = Vec::new();
        for folder in folders {
            let place = self.output.root.join(folder);
            // A folder that this run makes has nothing old in it.
            let Ok(entries) = fs::read_dir(&place) else {
                continue;
            };
            for entry in entries.filter_map(Result::ok) {
                let name = entry.file_name();
                let Some(name) = name.to_str() else { continue };
                let is_page = Path::new(name).extension().is_some_and(|ending| {
                    ["html", "pdf", "css", "js"]
                        .iter()
                        .any(|ours| ending == *ours)
                });
                let path = [folder, name].join("/");
                let path = path.trim_start_matches('/').to_owned();
                let is_file = entry.file_type().is_ok_and(|kind| kind.is_file());
                if !is_file || !is_page || record.files.contains_key(&path) {
                    continue;
                }
                let there = self.there(&path)?;
                if there.is_some_and(|(_, there)| self.output.is_ours(&path, &there)) {
                    unrecorded.push(path);
                }
            }
        }
        // The entries of a directory come in no fixed order.
        unrecorded.sort();
        Ok(unrecorded)
    }

    /// The file at a path of the output; none where there is none.
    ///
    /// A link on the way is an error: somebody else made it, and what it leads to is not ours to
    /// write.
    fn there(&self, path: &str) -> Result<Option<(fs::Metadata, Vec<u8>)>, OutputError> {
        let mut place = self.output.root.clone();
        let mut last = None;
        let mut parts = path.split('/').peekable();
        while let Some(part) = parts.next() {
            place.push(part);
            let is_folder = parts.peek().is_some();
            if is_folder && locked(&self.plain).contains(&place) {
                continue;
            }
            match fs::symlink_metadata(&place) {
                Ok(found) if found.file_type().is_symlink() => {
                    return Err(OutputError::Foreign { path: place });
                }
                // A file where a folder has to be, or a folder where a file has to.
                Ok(found) if found.is_dir() != is_folder => {
                    return Err(OutputError::Foreign { path: place });
                }
                Ok(_) if is_folder => {
                    locked(&self.plain).insert(place.clone());
                }
                Ok(found) => last = Some(found),
                Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
                Err(error) => return Err(failed("read", &place)(error)),
            }
        }
        let bytes = fs::read(&place).map_err(failed("read", &place))?;
        Ok(last.map(|found| (found, bytes)))
    }
}

/// The value behind a lock. A thread that panicked while it held the lock has left it whole: each
/// entry is inserted by one call.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
