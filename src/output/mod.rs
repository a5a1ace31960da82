//! Files made become files on disk, all of them or none.
//!
//! Comes in: paths and bytes, from any thread. Goes out: a folder in which they
//! stand. New files are written to the side, in `.benchleaf/next`, and a list of
//! what is to move where is written beside them before the first one moves: a
//! run that is killed while they move is completed by the next one. A record
//! says which files are ours and what each was made from, so that what would
//! come out the same is kept; nothing else in the folder is ever written over,
//! moved or removed. A record that is lost or spoilt costs time and nothing
//! else. It knows nothing of what the files are.

mod record;

use rayon::prelude::*;
use record::{Entry, Record, Stamp, Swap};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What every page that is made carries in it, HTML or PDF, so that it is known as ours.
pub const MARK: &str = "made by benchleaf";

/// Where the record and the new files stand, in the output folder.
const SIDE: &str = ".benchleaf";

/// An output folder.
///
/// Invariant: while it exists, no other run writes to the folder.
#[derive(Debug)]
pub struct Output {
    root: PathBuf,
    record: Record,
    _lock: fs::File,
}

/// What a file was made from and with, as digests: a file that would be made from the same need not
/// be made again.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Key {
    /// Of every file of the shop's that has a say in it, and of the program and its templates.
    pub inputs: String,
    /// Of what stands on it, for a file that is costly to make from that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub content: Option<String>,
    /// The program it was made with, and its version.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tool: Option<String>,
}

/// What a delivery did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Delivered {
    /// Files written because they are new or have changed.
    pub written: usize,
    /// Files that were right already.
    pub unchanged: usize,
    /// Files of an earlier run that are no longer made.
    pub removed: usize,
    /// Files of ours that somebody had changed since, and that were made anew.
    pub restored: usize,
}

/// Why an output folder can't be written.
#[derive(Debug)]
pub enum OutputError {
    /// A file or folder can't be read or written.
    Io {
        /// What was being done, such as "write".
        doing: &'static str,
        /// To which file.
        path: PathBuf,
        /// Why not.
        error: io::Error,
    },
    /// Another run is writing to it.
    Busy {
        /// The folder.
        root: PathBuf,
    },
    /// Two files of this run would stand in one place.
    Twice {
        /// The place, from the output's root.
        path: String,
    },
    /// A file that has to be written is there already, and is not ours, or a link is in its way.
    Foreign {
        /// The file.
        path: PathBuf,
    },
}

impl fmt::Display for OutputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OutputError::Io { doing, path, error } => {
                write!(f, "can't {doing} `{}`: {error}", path.display())
            }
            OutputError::Busy { root } => {
                write!(f, "another run is writing to `{}`", root.display())
            }
            OutputError::Twice { path } => write!(
                f,
                "two pages would stand at `{path}`: a machine or a procedure has to have another id"
            ),
            OutputError::Foreign { path } => write!(
                f,
                "`{}` is in the way: benchleaf did not write it, so it is left alone; \
                 move it, or name another folder with --output",
                path.display()
            ),
        }
    }
}

impl std::error::Error for OutputError {}

fn failed(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> OutputError {
    let path = path.to_owned();
    move |error| OutputError::Io { doing, path, error }
}

impl Output {
    /// Opens the folder, making it where it is missing, and completes what a killed run left half done.
    ///
    /// # Errors
    ///
    /// When the folder can't be made, written or locked.
    pub fn open(root: &Path) -> Result<Output, OutputError> {
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
            record: Record::load(&side),
            _lock: lock,
        };
        // Paths that lead out of the folder were never ours: such a list is not of our making.
        if let Some(swap) = Swap::load(&side).filter(Swap::stays_inside) {
            output.complete(&swap)?;
        }
        Ok(output)
    }

    /// Begins a delivery: files are handed over one by one, from any thread, and stand to the side
    /// until the delivery is completed. One that is dropped has changed nothing.
    ///
    /// # Errors
    ///
    /// When the folder for new files can't be cleared and made.
    pub fn begin(&mut self) -> Result<Delivery<'_>, OutputError> {
        let next = self.root.join(SIDE).join("next");
        // Left by a run that was killed before it had a list: nothing refers to it.
        if next.exists() {
            fs::remove_dir_all(&next).map_err(failed("clear", &next))?;
        }
        fs::create_dir(&next).map_err(failed("make", &next))?;
        Ok(Delivery {
            output: self,
            next,
            files: Mutex::default(),
            moves: Mutex::default(),
            plain: Mutex::default(),
            restored: AtomicUsize::default(),
        })
    }

    /// Whether a file of ours is still as it was written: by its size and the time it was last
    /// written to, as version control has it, and by its content where those say otherwise, as on a
    /// copy.
    fn is_as_written(&self, path: &str, entry: &Entry) -> bool {
        let file = self.root.join(path);
        let found = fs::symlink_metadata(&file).ok();
        found.is_some_and(|found| {
            found.is_file()
                && (Stamp::of(&found).is_some_and(|stamp| stamp == entry.stamp)
                    || fs::read(&file).is_ok_and(|bytes| digest(&bytes) == entry.digest))
        })
    }

    /// Whether what stands at a path is what we wrote there, or carries our mark: so a lost record
    /// costs time and nothing else, and a file that somebody put in our place stays.
    fn is_ours(&self, path: &str, there: &[u8]) -> bool {
        let entry = self.record.files.get(path);
        let digest = digest(there);
        // A figure's name carries its content.
        let names_itself = path.contains(&digest[..8]);
        let is_marked = there
            .windows(MARK.len())
            .any(|window| window == MARK.as_bytes());
        // Power that fails leaves an empty file.
        entry.is_some_and(|entry| entry.digest == digest || there.is_empty())
            || names_itself
            || is_marked
    }

    /// Does what a swap says; doing it again does no harm.
    fn complete(&mut self, swap: &Swap) -> Result<(), OutputError> {
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
            // A folder that still holds anything stays; the error says just that.
            if let Some(folder) = file.parent().filter(|folder| *folder != self.root) {
                let _ = fs::remove_dir(folder);
            }
        }
        self.record = Record::take_over(&next, &side).map_err(failed("write", &side))?;
        Swap::clear(&side).map_err(failed("clear", &side))?;
        let _ = fs::remove_dir_all(&next);
        Ok(())
    }
}

/// New files stand in as many folders: in one, each would wait until the one before it is made.
const STACKS: usize = 16;

/// Files on their way into an output folder.
#[derive(Debug)]
pub struct Delivery<'o> {
    output: &'o mut Output,
    /// Where new files stand until all are there.
    next: PathBuf,
    /// Every file that is made or kept.
    files: Mutex<BTreeMap<String, Entry>>,
    /// New files by their places, with their names at the side.
    moves: Mutex<BTreeMap<String, String>>,
    /// Folders that were looked at already, and are no links.
    plain: Mutex<BTreeSet<PathBuf>>,
    /// [`Delivered::restored`] so far.
    restored: AtomicUsize,
}

impl Delivery<'_> {
    /// Keeps a file of an earlier run, if there is one that is still as it was written and whose key
    /// will do. It then goes by the new key.
    pub fn keep(&self, path: &str, key: &Key, will_do: impl Fn(&Key) -> bool) -> bool {
        let Some(entry) = self.output.record.files.get(path) else {
            return false;
        };
        // What stands there in this run already is another page's: to put it again is refused.
        if self.has(path) || !will_do(&entry.key) || !self.output.is_as_written(path, entry) {
            return false;
        }
        let entry = Entry {
            key: Key {
                // What it was made with, it was made with.
                content: key.content.clone().or_else(|| entry.key.content.clone()),
                tool: entry.key.tool.clone(),
                inputs: key.inputs.clone(),
            },
            ..entry.clone()
        };
        locked(&self.files).insert(path.to_owned(), entry);
        true
    }

    /// Whether a file is one of an earlier run's.
    #[must_use]
    pub fn was_there(&self, path: &str) -> bool {
        self.output.record.files.contains_key(path)
    }

    /// Whether a file is among those made or kept so far.
    #[must_use]
    pub fn has(&self, path: &str) -> bool {
        locked(&self.files).contains_key(path)
    }

    /// Every file that was made or kept so far.
    #[must_use]
    pub fn paths(&self) -> Vec<String> {
        locked(&self.files).keys().cloned().collect()
    }

    /// The text of a file that was made or kept.
    ///
    /// # Errors
    ///
    /// When it can't be read.
    pub fn text(&self, path: &str) -> Result<String, OutputError> {
        let file = match locked(&self.moves).get(path) {
            Some(name) => self.next.join(name),
            None => self.output.root.join(path),
        };
        let bytes = fs::read(&file).map_err(failed("read", &file))?;
        Ok(String::from_utf8_lossy(&bytes).into_owned())
    }

    /// The text that a file of ours has, where this delivery gives it another.
    ///
    /// # Errors
    ///
    /// When it can't be read.
    pub fn text_before(&self, path: &str) -> Result<Option<String>, OutputError> {
        let before = self.output.record.files.get(path);
        let after = locked(&self.files)
            .get(path)
            .map(|entry| entry.digest.clone());
        match (before, after) {
            (Some(before), Some(after)) if before.digest != after => {
                // Somebody may have removed it meanwhile.
                let bytes = fs::read(self.output.root.join(path)).ok();
                Ok(bytes.map(|bytes| String::from_utf8_lossy(&bytes).into_owned()))
            }
            _ => Ok(None),
        }
    }

    /// Whether files of earlier runs would go with a whole delivery of what is there so far.
    #[must_use]
    pub fn removes_any(&self) -> bool {
        let files = locked(&self.files);
        let mut before = self.output.record.files.keys();
        before.any(|path| !files.contains_key(path))
    }

    /// Hands over a file. One that stands there already with the same content stays.
    ///
    /// # Errors
    ///
    /// When it can't be written, or a file that is not ours is in its place, or a link on the way.
    pub fn put(&self, path: &str, bytes: &[u8], key: Key) -> Result<(), OutputError> {
        if self.has(path) {
            let path = path.to_owned();
            return Err(OutputError::Twice { path });
        }
        let digest = digest(bytes);
        let known = self.output.record.files.get(path);
        if let Some(entry) = known.filter(|entry| entry.digest == digest)
            && self.output.is_as_written(path, entry)
        {
            let entry = Entry {
                key,
                ..entry.clone()
            };
            locked(&self.files).insert(path.to_owned(), entry);
            return Ok(());
        }
        let there = self.there(path)?;
        if let Some((found, there)) = &there {
            if there == bytes {
                let stamp = Stamp::of(found).unwrap_or_default();
                let entry = Entry { digest, stamp, key };
                locked(&self.files).insert(path.to_owned(), entry);
                return Ok(());
            }
            if !self.output.is_ours(path, there) {
                let path = self.output.root.join(path);
                return Err(OutputError::Foreign { path });
            }
            if known.is_some_and(|entry| entry.digest != self::digest(there)) {
                self.restored.fetch_add(1, Ordering::Relaxed);
            }
        }
        let name = {
            let mut moves = locked(&self.moves);
            let number = moves.len();
            let name = format!("{}/{number}", number % STACKS);
            moves.insert(path.to_owned(), name.clone());
            name
        };
        let file = self.next.join(&name);
        let opened = fs::File::create_new(&file).or_else(|error| match file.parent() {
            Some(stack) if error.kind() == io::ErrorKind::NotFound => {
                // Only the stack: where all of the folder is gone, something is wrong.
                match fs::create_dir(stack) {
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
        let stamp = Stamp::of(&written.map_err(failed("write", &file))?).unwrap_or_default();
        let entry = Entry { digest, stamp, key };
        locked(&self.files).insert(path.to_owned(), entry);
        Ok(())
    }

    /// Puts all files in their places. With `whole`, files of earlier runs that are not among them go.
    ///
    /// # Errors
    ///
    /// When something can't be written. Nothing has been moved or removed then, or the next run
    /// completes what this one began.
    pub fn complete(self, whole: bool) -> Result<Delivered, OutputError> {
        let files = std::mem::take(&mut *locked(&self.files));
        let moves = std::mem::take(&mut *locked(&self.moves));
        let moves: Vec<(String, String)> =
            moves.into_iter().map(|(path, name)| (name, path)).collect();
        let mut delivered = Delivered {
            written: moves.len(),
            unchanged: files.len() - moves.len(),
            removed: 0,
            restored: self.restored.load(Ordering::Relaxed),
        };
        let mut record = Record { files };
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
            removed.extend(self.forgotten(&record)?);
        }
        delivered.removed = removed.len();
        if moves.is_empty() && removed.is_empty() && record == self.output.record {
            let _ = fs::remove_dir_all(&self.next);
            return Ok(delivered);
        }
        let side = self.output.root.join(SIDE);
        record
            .save(&self.next)
            .map_err(failed("write", &self.next))?;
        let swap = Swap { moves, removed };
        swap.save(&side).map_err(failed("write", &side))?;
        self.output.complete(&swap)?;
        Ok(delivered)
    }

    /// Pages of ours that no record tells of any more, known by their mark: without it they would
    /// stand for good, and an old address open old values.
    ///
    /// Only beside pages of this run: somebody may keep a copy of an older output in a folder of its
    /// own, and its pages have the mark, too.
    fn forgotten(&self, record: &Record) -> Result<Vec<String>, OutputError> {
        let folders: BTreeSet<&str> = record
            .files
            .keys()
            .map(|path| path.rsplit_once('/').map_or("", |(folder, _)| folder))
            .collect();
        let mut forgotten = Vec::new();
        for folder in folders {
            let place = self.output.root.join(folder);
            // A folder that is only now made has nothing old in it.
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
                    forgotten.push(path);
                }
            }
        }
        // A directory has no order of its own.
        forgotten.sort();
        Ok(forgotten)
    }

    /// What stands at a path of the output; none where nothing does.
    ///
    /// A link on the way is somebody else's arrangement: what is behind it is not ours to write.
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

/// What is behind a lock. A thread that died while it held it has left a list that is whole: each
/// entry goes in at once.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Half of a BLAKE3 hash, in hexadecimal digits: enough that no two contents share one by chance.
#[must_use]
pub fn digest(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex()[..32].to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    impl Output {
        fn deliver(
            &mut self,
            files: Vec<(&str, &str)>,
            whole: bool,
        ) -> Result<Delivered, OutputError> {
            let delivery = self.begin()?;
            for (path, text) in files {
                delivery.put(path, text.as_bytes(), Key::default())?;
            }
            delivery.complete(whole)
        }
    }

    #[test]
    fn a_second_delivery_of_the_same_writes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let first = output.deliver(vec![("a/x.html", "1")], true).unwrap();
        assert_eq!((first.written, first.unchanged), (1, 0));
        let record = folder.path().join(SIDE).join("record.json");
        let before = fs::metadata(&record).unwrap().modified().unwrap();
        let second = output.deliver(vec![("a/x.html", "1")], true).unwrap();
        assert_eq!((second.written, second.unchanged), (0, 1));
        assert_eq!(fs::metadata(&record).unwrap().modified().unwrap(), before);
    }

    #[test]
    fn what_is_no_longer_made_goes_and_what_is_not_ours_stays() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        output
            .deliver(vec![("a/x", "1"), ("b/y", "2")], true)
            .unwrap();
        fs::write(folder.path().join("b/mine"), "mine").unwrap();
        let third = output.deliver(vec![("a/x", "1")], true).unwrap();
        assert_eq!(third.removed, 1);
        assert!(!folder.path().join("b/y").exists());
        assert_eq!(
            fs::read_to_string(folder.path().join("b/mine")).unwrap(),
            "mine"
        );
    }

    #[test]
    fn a_part_delivery_leaves_the_rest_alone() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        output.deliver(vec![("x", "1"), ("y", "2")], true).unwrap();
        output.deliver(vec![("x", "3")], false).unwrap();
        assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "2");
        let last = output.deliver(vec![("x", "3")], true).unwrap();
        assert_eq!(last.removed, 1, "the record still knew of y");
    }

    #[test]
    fn a_file_that_is_not_ours_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("x"), "mine").unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let refused = output.deliver(vec![("w", "1"), ("x", "2")], true);
        assert!(matches!(refused, Err(OutputError::Foreign { .. })));
        assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "mine");
        assert!(!folder.path().join("w").exists(), "all or none");
    }

    #[test]
    fn a_run_killed_while_files_moved_is_completed_by_the_next() {
        let folder = tempfile::tempdir().unwrap();
        {
            let mut output = Output::open(folder.path()).unwrap();
            output
                .deliver(vec![("x", "old"), ("y", "old"), ("z", "old")], true)
                .unwrap();
            // Made and listed, and killed after the first of two moves.
            let delivery = output.begin().unwrap();
            delivery.put("x", b"new", Key::default()).unwrap();
            delivery.put("y", b"new", Key::default()).unwrap();
            let files = locked(&delivery.files).clone();
            Record { files }.save(&delivery.next).unwrap();
            let swap = Swap {
                moves: locked(&delivery.moves)
                    .iter()
                    .map(|(path, name)| (name.clone(), path.clone()))
                    .collect(),
                removed: vec!["z".to_owned()],
            };
            swap.save(&folder.path().join(SIDE)).unwrap();
            let x = delivery.next.join(&locked(&delivery.moves)["x"]);
            fs::rename(x, folder.path().join("x")).unwrap();
        }
        let output = Output::open(folder.path()).unwrap();
        assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "new");
        assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "new");
        assert!(!folder.path().join("z").exists());
        assert_eq!(output.record.files.len(), 2);
    }

    #[test]
    fn two_runs_do_not_write_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let _first = Output::open(folder.path()).unwrap();
        assert!(matches!(
            Output::open(folder.path()),
            Err(OutputError::Busy { .. })
        ));
    }

    #[test]
    fn a_spoilt_record_costs_time_and_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        Output::open(folder.path())
            .unwrap()
            .deliver(vec![("x", "1")], true)
            .unwrap();
        fs::write(
            folder.path().join(SIDE).join("record.json"),
            "{\"files\": 3",
        )
        .unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let again = output.deliver(vec![("x", "1")], true).unwrap();
        assert_eq!((again.written, again.unchanged), (0, 1));
        // A page of ours is known by its mark, and is written over when it changes.
        let page = format!("<meta content=\"{MARK}\">old");
        output.deliver(vec![("p", page.as_str())], true).unwrap();
        drop(output);
        fs::remove_file(folder.path().join(SIDE).join("record.json")).unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let page = format!("<meta content=\"{MARK}\">new");
        assert_eq!(
            output
                .deliver(vec![("p", page.as_str())], true)
                .unwrap()
                .written,
            1
        );
    }

    #[test]
    fn a_file_that_somebody_put_in_our_place_stays() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        output.deliver(vec![("x", "1"), ("y", "2")], true).unwrap();
        fs::write(folder.path().join("y"), "mine").unwrap();
        let left = output.deliver(vec![("x", "1")], true).unwrap();
        assert_eq!(left.removed, 0);
        assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "mine");
        fs::write(folder.path().join("x"), "mine").unwrap();
        let refused = output.deliver(vec![("x", "3")], true);
        assert!(matches!(refused, Err(OutputError::Foreign { .. })));
    }

    #[test]
    fn nothing_is_written_through_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let elsewhere = tempfile::tempdir().unwrap();
        std::os::unix::fs::symlink(elsewhere.path(), folder.path().join("a")).unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let refused = output.deliver(vec![("a/x", "1")], true);
        assert!(matches!(refused, Err(OutputError::Foreign { .. })));
        assert_eq!(fs::read_dir(elsewhere.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_list_of_moves_that_leads_out_of_the_folder_is_not_followed() {
        let folder = tempfile::tempdir().unwrap();
        let inside = folder.path().join("out");
        fs::create_dir_all(inside.join(SIDE).join("next")).unwrap();
        fs::write(folder.path().join("keep"), "mine").unwrap();
        fs::write(inside.join(SIDE).join("next/0"), "bad").unwrap();
        let swap = r#"{"moves": [["0", "../bad"]], "removed": ["../keep"]}"#;
        fs::write(inside.join(SIDE).join("swap.json"), swap).unwrap();
        Output::open(&inside).unwrap();
        assert!(folder.path().join("keep").exists());
        assert!(!folder.path().join("bad").exists());
    }

    #[test]
    fn a_file_is_kept_by_its_key_while_it_is_as_it_was_written() {
        let folder = tempfile::tempdir().unwrap();
        let key = |inputs: &str| Key {
            inputs: inputs.to_owned(),
            ..Key::default()
        };
        let mut output = Output::open(folder.path()).unwrap();
        let delivery = output.begin().unwrap();
        assert!(!delivery.keep("x", &key("1"), |_| true), "there is none");
        delivery.put("x", b"one", key("1")).unwrap();
        delivery.complete(true).unwrap();
        let delivery = output.begin().unwrap();
        assert!(!delivery.keep("x", &key("2"), |old| old.inputs == "2"));
        assert!(delivery.keep("x", &key("2"), |old| old.inputs == "1"));
        delivery.complete(true).unwrap();
        let delivery = output.begin().unwrap();
        assert!(
            delivery.keep("x", &key("2"), |old| old.inputs == "2"),
            "by its new key"
        );
        delivery.complete(true).unwrap();
        // Written to by somebody, with the same length.
        fs::write(folder.path().join("x"), "two").unwrap();
        let delivery = output.begin().unwrap();
        assert!(!delivery.keep("x", &key("2"), |old| old.inputs == "2"));
        drop(delivery);
        // A copy has another time, and the same content.
        fs::write(folder.path().join("x"), "one").unwrap();
        let delivery = output.begin().unwrap();
        assert!(delivery.keep("x", &key("2"), |old| old.inputs == "2"));
    }

    #[test]
    fn a_page_that_somebody_changed_is_made_anew_and_counted() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let page = format!("<meta content=\"{MARK}\">");
        output
            .deliver(vec![("x", &page), ("y", "1")], true)
            .unwrap();
        fs::write(folder.path().join("x"), format!("{page} mine")).unwrap();
        let again = output
            .deliver(vec![("x", &page), ("y", "2")], true)
            .unwrap();
        assert_eq!((again.written, again.restored), (2, 1));
    }

    #[test]
    fn two_files_do_not_stand_in_one_place() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let refused = output.deliver(vec![("x", "1"), ("x", "2")], true);
        assert!(matches!(refused, Err(OutputError::Twice { path }) if path == "x"));
    }

    #[test]
    fn a_delivery_that_is_dropped_changes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        output.deliver(vec![("x", "1")], true).unwrap();
        let delivery = output.begin().unwrap();
        delivery.put("x", b"2", Key::default()).unwrap();
        drop(delivery);
        drop(output);
        let mut output = Output::open(folder.path()).unwrap();
        assert_eq!(fs::read_to_string(folder.path().join("x")).unwrap(), "1");
        let again = output.deliver(vec![("x", "1")], true).unwrap();
        assert_eq!((again.written, again.unchanged), (0, 1));
    }

    #[test]
    fn without_a_record_pages_that_are_no_longer_made_go_and_copies_stay() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let old = format!("<meta content=\"{MARK}\">old");
        let before = vec![("a/old.html", old.as_str()), ("a/x.html", "1")];
        output.deliver(before, true).unwrap();
        drop(output);
        fs::remove_file(folder.path().join(SIDE).join("record.json")).unwrap();
        fs::write(folder.path().join("a/mine.html"), "mine").unwrap();
        let copy = folder.path().join("last-year");
        fs::create_dir(&copy).unwrap();
        fs::write(copy.join("old.html"), &old).unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let last = output.deliver(vec![("a/x.html", "1")], true).unwrap();
        assert_eq!(last.removed, 1);
        assert!(!folder.path().join("a/old.html").exists());
        assert!(folder.path().join("a/mine.html").exists());
        assert!(copy.join("old.html").exists());
    }

    #[test]
    fn a_folder_where_a_file_has_to_be_is_named() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("x")).unwrap();
        fs::write(folder.path().join("y"), "mine").unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        for path in ["x", "y/z"] {
            let refused = output.deliver(vec![(path, "1")], true);
            assert!(
                matches!(refused, Err(OutputError::Foreign { .. })),
                "{path}"
            );
        }
    }

    /// One letter of a key that was turned could make an old file pass for a new one.
    #[test]
    fn a_record_with_one_letter_turned_is_not_believed() {
        let folder = tempfile::tempdir().unwrap();
        Output::open(folder.path())
            .unwrap()
            .deliver(vec![("x", "1")], true)
            .unwrap();
        let path = folder.path().join(SIDE).join("record.json");
        let text = fs::read_to_string(&path).unwrap();
        fs::write(
            &path,
            text.replacen("\"inputs\":\"\"", "\"inputs\":\"7\"", 1),
        )
        .unwrap();
        let output = Output::open(folder.path()).unwrap();
        assert!(output.record.files.is_empty());
    }
}
