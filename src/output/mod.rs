//! Files made become files on disk, all of them or none.
//!
//! Comes in: paths and bytes. Goes out: a folder in which they stand. New files
//! are written to the side, in `.benchleaf/next`, and a list of what is to move
//! where is written beside them before the first one moves: a run that is
//! killed while they move is completed by the next one. A record says which
//! files are ours; nothing else in the folder is ever written over, moved or
//! removed. It knows nothing of what the files are.

mod record;

use record::{Entry, Record, Swap};
use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

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

/// A file to stand in the output.
#[derive(Debug)]
pub enum Made {
    /// New content.
    New {
        /// The bytes.
        bytes: Vec<u8>,
        /// What they were made from, for files that are costly to make again.
        key: Option<Key>,
    },
    /// The file that is there already, known by [`Output::is_current`].
    Kept,
}

/// What a file was made from and with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    /// A digest of everything that decides its content.
    pub content: String,
    /// The program it was made with, and its version.
    pub tool: String,
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
            output.complete(swap)?;
        }
        Ok(output)
    }

    /// Whether a file of ours is still as it was written, and would come out the same.
    ///
    /// Without a tool to make it again, one made with any version of it will do.
    #[must_use]
    pub fn is_current(&self, path: &str, content: &str, tool: Option<&str>) -> bool {
        let Some(entry) = self.record.files.get(path) else {
            return false;
        };
        let is_same = entry.content.as_deref() == Some(content)
            && tool.is_none_or(|tool| entry.tool.as_deref() == Some(tool));
        is_same && fs::read(self.root.join(path)).is_ok_and(|bytes| digest(&bytes) == entry.digest)
    }

    /// Puts the files in their places. With `whole`, files of earlier runs that are not among them go.
    ///
    /// # Errors
    ///
    /// When something can't be written or a file that is not ours is in the way.
    /// Nothing has been moved or removed then.
    pub fn deliver(
        &mut self,
        files: BTreeMap<String, Made>,
        whole: bool,
    ) -> Result<Delivered, OutputError> {
        let mut delivered = Delivered::default();
        let mut record = Record::default();
        let mut changed: Vec<(String, Vec<u8>)> = Vec::new();
        for (path, made) in files {
            let (bytes, key) = match made {
                Made::Kept => {
                    delivered.unchanged += 1;
                    if let Some(entry) = self.record.files.get(&path) {
                        record.files.insert(path, entry.clone());
                    }
                    continue;
                }
                Made::New { bytes, key } => (bytes, key),
            };
            let (content, tool) = match key {
                Some(key) => (Some(key.content), Some(key.tool)),
                None => (None, None),
            };
            let entry = Entry {
                digest: digest(&bytes),
                content,
                tool,
            };
            let there = self.there(&path)?;
            if there.as_deref() == Some(bytes.as_slice()) {
                delivered.unchanged += 1;
            } else {
                if there.is_some_and(|there| !self.is_ours(&path, &there)) {
                    let path = self.root.join(&path);
                    return Err(OutputError::Foreign { path });
                }
                changed.push((path.clone(), bytes));
            }
            record.files.insert(path, entry);
        }
        let mut removed = Vec::new();
        for (path, entry) in &self.record.files {
            if record.files.contains_key(path) {
                continue;
            }
            if !whole {
                record.files.insert(path.clone(), entry.clone());
            } else if self
                .there(path)?
                .is_some_and(|there| self.is_ours(path, &there))
            {
                removed.push(path.clone());
            }
        }
        delivered.written = changed.len();
        delivered.removed = removed.len();
        if changed.is_empty() && removed.is_empty() && record == self.record {
            return Ok(delivered);
        }
        let swap = self.set_aside(changed, removed, record)?;
        self.complete(swap)?;
        Ok(delivered)
    }

    /// What stands at a path of the output; none where nothing does.
    ///
    /// A link on the way is somebody else's arrangement: what is behind it is not ours to write.
    fn there(&self, path: &str) -> Result<Option<Vec<u8>>, OutputError> {
        let mut place = self.root.clone();
        for part in path.split('/') {
            place.push(part);
            match fs::symlink_metadata(&place) {
                Ok(found) if found.file_type().is_symlink() => {
                    return Err(OutputError::Foreign { path: place });
                }
                Ok(_) => {}
                Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
                Err(error) => return Err(failed("read", &place)(error)),
            }
        }
        fs::read(&place).map(Some).map_err(failed("read", &place))
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
        entry.is_some_and(|entry| entry.digest == digest) || names_itself || is_marked
    }

    /// Writes new files to the side, and then what is to be done with them.
    fn set_aside(
        &self,
        changed: Vec<(String, Vec<u8>)>,
        removed: Vec<String>,
        record: Record,
    ) -> Result<Swap, OutputError> {
        let side = self.root.join(SIDE);
        let next = side.join("next");
        // Left by a run that was killed before it had a list: nothing refers to it.
        if next.exists() {
            fs::remove_dir_all(&next).map_err(failed("clear", &next))?;
        }
        fs::create_dir(&next).map_err(failed("make", &next))?;
        let mut moves = Vec::new();
        for (at, (path, bytes)) in changed.into_iter().enumerate() {
            let name = at.to_string();
            let file = next.join(&name);
            fs::write(&file, bytes).map_err(failed("write", &file))?;
            moves.push((name, path));
        }
        let swap = Swap {
            moves,
            removed,
            record,
        };
        swap.save(&side).map_err(failed("write", &side))?;
        Ok(swap)
    }

    /// Does what a swap says; doing it again does no harm.
    fn complete(&mut self, swap: Swap) -> Result<(), OutputError> {
        let side = self.root.join(SIDE);
        let next = side.join("next");
        for (name, path) in &swap.moves {
            let (from, to) = (next.join(name), self.root.join(path));
            if !from.exists() {
                // Moved before the run was killed.
                continue;
            }
            if let Some(folder) = to.parent() {
                fs::create_dir_all(folder).map_err(failed("make", folder))?;
            }
            fs::rename(&from, &to).map_err(failed("write", &to))?;
        }
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
        swap.record.save(&side).map_err(failed("write", &side))?;
        Swap::clear(&side).map_err(failed("clear", &side))?;
        let _ = fs::remove_dir(&next);
        self.record = swap.record;
        Ok(())
    }
}

fn digest(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(all: &[(&str, &str)]) -> BTreeMap<String, Made> {
        all.iter()
            .map(|(path, text)| {
                let made = Made::New {
                    bytes: text.as_bytes().to_vec(),
                    key: None,
                };
                ((*path).to_owned(), made)
            })
            .collect()
    }

    #[test]
    fn a_second_delivery_of_the_same_writes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let first = output.deliver(files(&[("a/x.html", "1")]), true).unwrap();
        assert_eq!((first.written, first.unchanged), (1, 0));
        let record = folder.path().join(SIDE).join("record.json");
        let before = fs::metadata(&record).unwrap().modified().unwrap();
        let second = output.deliver(files(&[("a/x.html", "1")]), true).unwrap();
        assert_eq!((second.written, second.unchanged), (0, 1));
        assert_eq!(fs::metadata(&record).unwrap().modified().unwrap(), before);
    }

    #[test]
    fn what_is_no_longer_made_goes_and_what_is_not_ours_stays() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        output
            .deliver(files(&[("a/x", "1"), ("b/y", "2")]), true)
            .unwrap();
        fs::write(folder.path().join("b/mine"), "mine").unwrap();
        let third = output.deliver(files(&[("a/x", "1")]), true).unwrap();
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
        output
            .deliver(files(&[("x", "1"), ("y", "2")]), true)
            .unwrap();
        output.deliver(files(&[("x", "3")]), false).unwrap();
        assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "2");
        let last = output.deliver(files(&[("x", "3")]), true).unwrap();
        assert_eq!(last.removed, 1, "the record still knew of y");
    }

    #[test]
    fn a_file_that_is_not_ours_is_not_written_over() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("x"), "mine").unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let refused = output.deliver(files(&[("w", "1"), ("x", "2")]), true);
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
                .deliver(files(&[("x", "old"), ("y", "old"), ("z", "old")]), true)
                .unwrap();
            let mut record = Record::default();
            let entry = Entry {
                digest: digest(b"new"),
                content: None,
                tool: None,
            };
            record.files.insert("x".to_owned(), entry.clone());
            record.files.insert("y".to_owned(), entry);
            let changed = vec![
                ("x".to_owned(), b"new".to_vec()),
                ("y".to_owned(), b"new".to_vec()),
            ];
            output
                .set_aside(changed, vec!["z".to_owned()], record)
                .unwrap();
            // Killed after the first of two moves.
            let next = folder.path().join(SIDE).join("next");
            fs::rename(next.join("0"), folder.path().join("x")).unwrap();
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
            .deliver(files(&[("x", "1")]), true)
            .unwrap();
        fs::write(
            folder.path().join(SIDE).join("record.json"),
            "{\"files\": 3",
        )
        .unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let again = output.deliver(files(&[("x", "1")]), true).unwrap();
        assert_eq!((again.written, again.unchanged), (0, 1));
        // A page of ours is known by its mark, and is written over when it changes.
        let page = format!("<meta content=\"{MARK}\">old");
        output
            .deliver(files(&[("p", page.as_str())]), true)
            .unwrap();
        drop(output);
        fs::remove_file(folder.path().join(SIDE).join("record.json")).unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let page = format!("<meta content=\"{MARK}\">new");
        assert_eq!(
            output
                .deliver(files(&[("p", page.as_str())]), true)
                .unwrap()
                .written,
            1
        );
    }

    #[test]
    fn a_file_that_somebody_put_in_our_place_stays() {
        let folder = tempfile::tempdir().unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        output
            .deliver(files(&[("x", "1"), ("y", "2")]), true)
            .unwrap();
        fs::write(folder.path().join("y"), "mine").unwrap();
        let left = output.deliver(files(&[("x", "1")]), true).unwrap();
        assert_eq!(left.removed, 0);
        assert_eq!(fs::read_to_string(folder.path().join("y")).unwrap(), "mine");
        fs::write(folder.path().join("x"), "mine").unwrap();
        let refused = output.deliver(files(&[("x", "3")]), true);
        assert!(matches!(refused, Err(OutputError::Foreign { .. })));
    }

    #[test]
    fn nothing_is_written_through_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let elsewhere = tempfile::tempdir().unwrap();
        std::os::unix::fs::symlink(elsewhere.path(), folder.path().join("a")).unwrap();
        let mut output = Output::open(folder.path()).unwrap();
        let refused = output.deliver(files(&[("a/x", "1")]), true);
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
        let swap =
            r#"{"moves": [["0", "../bad"]], "removed": ["../keep"], "record": {"files": {}}}"#;
        fs::write(inside.join(SIDE).join("swap.json"), swap).unwrap();
        Output::open(&inside).unwrap();
        assert!(folder.path().join("keep").exists());
        assert!(!folder.path().join("bad").exists());
    }
}
