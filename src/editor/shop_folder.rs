//! A sources folder that is open: its sources as they are edited, and what is found in them.
//!
//! The session's thread reads a file again when it changes, which takes a moment. A thread of the folder's own checks and
//! publishes; it gives up a check as soon as a file changes.
//!
//! Locks are taken in this order: `work`, `sources`, and then one of the others.

use super::address::uri_of;
use super::documents::Document;
use crate::finding::{FileId, Findings};
use crate::recheck::{Outdated, replace_text};
use crate::tree::{Disk, Overlay, Tree};
use crate::{Sources, read};
use lsp_types::Uri;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError, RwLock, RwLockReadGuard};
use std::time::Duration;

/// How long a request waits for sources that are being read, or for a check.
const PATIENCE: Duration = Duration::from_secs(10);

/// How often a request that needs a check waits for the next one.
const MOST_TRIES: usize = 3;

/// A sources folder.
pub(super) struct ShopFolder {
    pub(super) root: PathBuf,
    /// The root without links, which is what some clients name.
    real_root: PathBuf,
    sources: RwLock<Option<Sources>>,
    /// The open documents in it, by their paths from the root.
    documents: Mutex<BTreeMap<String, Document>>,
    work: Mutex<Work>,
    /// Signals a change of `work`.
    changed: Condvar,
    /// The last findings, and the count of changes that they are of.
    checked: Mutex<Option<(u64, Arc<Findings>)>>,
    /// Signals a change of `checked`.
    is_checked: Condvar,
    /// Counts the changes that have begun. A check of an earlier count is outdated.
    changes: AtomicU64,
}

/// What the folder's thread has to do, and what it has done.
#[derive(Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each is a thing to do")]
struct Work {
    /// What the changes that are complete have made outdated.
    outdated: Outdated,
    /// Counts the changes that are complete.
    complete: u64,
    /// Whether all files are to be read from nothing.
    reads_all: bool,
    /// Whether files on the disk may have changed without a notice.
    looks: bool,
    is_waiting: bool,
    is_closed: bool,
}

/// The next thing that the folder's thread has to do.
pub(super) enum Task {
    /// Read all files, and then ask again.
    Read,
    /// Look whether files have changed, and then ask again.
    Look,
    /// Check what is outdated after so many changes.
    Check(Outdated, u64),
    /// End.
    Close,
}

/// A change of the sources. While there is one, no check can begin.
struct Change<'f> {
    folder: &'f ShopFolder,
    work: MutexGuard<'f, Work>,
}

impl Drop for Change<'_> {
    fn drop(&mut self) {
        self.work.complete += 1;
        self.work.is_waiting = true;
        self.folder.changed.notify_all();
    }
}

/// A panic while the lock was held is reported where it happened; what was locked is read from nothing after that.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl ShopFolder {
    pub(super) fn new(root: PathBuf) -> ShopFolder {
        ShopFolder {
            real_root: root.canonicalize().unwrap_or_else(|_| root.clone()),
            root,
            sources: RwLock::new(None),
            documents: Mutex::default(),
            work: Mutex::new(Work {
                reads_all: true,
                is_waiting: true,
                ..Work::default()
            }),
            changed: Condvar::new(),
            checked: Mutex::default(),
            is_checked: Condvar::new(),
            changes: AtomicU64::new(0),
        }
    }

    /// The path from the root of a file in the folder, with `/` as separator. `None` if it is elsewhere.
    pub(super) fn relative(&self, path: &Path) -> Option<String> {
        let real = || path.canonicalize().ok();
        let inside = path
            .strip_prefix(&self.root)
            .or_else(|_| path.strip_prefix(&self.real_root))
            .map(Path::to_owned)
            .ok()
            .or_else(|| Some(real()?.strip_prefix(&self.real_root).ok()?.to_owned()))?;
        let parts: Option<Vec<&str>> = inside.iter().map(|part| part.to_str()).collect();
        Some(parts?.join("/"))
    }

    /// The address of a file: that of the open document, if it is open.
    pub(super) fn uri(&self, path: &str) -> Option<Uri> {
        let documents = locked(&self.documents);
        match documents.get(path) {
            Some(document) => Some(document.uri.clone()),
            None => uri_of(&self.root.join(path)),
        }
    }

    /// Whether this is the folder at a path.
    pub(super) fn is_at(&self, root: &Path) -> bool {
        root == self.root || root.canonicalize().is_ok_and(|root| root == self.real_root)
    }

    /// The versions of the open documents, by path.
    pub(super) fn open(&self) -> BTreeMap<String, i32> {
        let documents = locked(&self.documents);
        let open = documents.iter();
        open.map(|(path, document)| (path.clone(), document.version))
            .collect()
    }

    /// Whether a path is that of a source that has been read.
    pub(super) fn has_source(&self, path: &str) -> bool {
        let sources = self.sources();
        sources
            .get()
            .is_some_and(|sources| sources.tree.source(path).is_some())
    }

    /// The version of a file, if it is open.
    pub(super) fn version(&self, path: &str) -> Option<i32> {
        locked(&self.documents)
            .get(path)
            .map(|document| document.version)
    }

    /// Changes the open documents, and then the sources.
    pub(super) fn edit(&self, path: &str, edit: impl FnOnce(&mut BTreeMap<String, Document>)) {
        let text = {
            let mut documents = locked(&self.documents);
            edit(&mut documents);
            documents.get(path).map(|document| document.text.clone())
        };
        // A document that was closed without being saved is as on the disk again.
        let text = text.or_else(|| std::fs::read_to_string(self.root.join(path)).ok());
        match text {
            Some(text) => self.replace(path, text),
            None => self.read_all(),
        }
    }

    /// Reads a file again that has changed on the disk. Does nothing if it is open.
    pub(super) fn file_changed(&self, path: &str) {
        if !locked(&self.documents).contains_key(path) {
            self.edit(path, |_| {});
        }
    }

    /// Replaces the text of a source, and reads it again. The text of a file that is no source changes nothing.
    fn replace(&self, path: &str, text: String) {
        {
            let sources = self.sources.read().unwrap_or_else(PoisonError::into_inner);
            if let Some(sources) = &*sources {
                match sources.tree.source(path) {
                    Some(source) if source.text == text => return,
                    Some(_) => {}
                    // It is new, or was over a limit. Other files of the folder are not read at all.
                    None if !Tree::reads(path) => return,
                    None => return self.read_all(),
                }
            }
        }
        let mut change = self.begin_change();
        let mut sources = self.sources.write().unwrap_or_else(PoisonError::into_inner);
        // While all files are read, `adopt` takes the texts of the open documents.
        let outdated = match &mut *sources {
            Some(sources) => replace_in(sources, path, text),
            None => return,
        };
        drop(sources);
        match outdated {
            Some(outdated) => change.work.outdated.extend(outdated),
            None => change.work.reads_all = true,
        }
    }

    /// Makes a running check give up, and keeps the next from beginning.
    fn begin_change(&self) -> Change<'_> {
        self.changes.fetch_add(1, Ordering::SeqCst);
        Change {
            folder: self,
            work: locked(&self.work),
        }
    }

    /// Lets all files be read from nothing.
    pub(super) fn read_all(&self) {
        self.begin_change().work.reads_all = true;
    }

    /// Lets the folder's thread look for files that have changed without a notice.
    pub(super) fn look(&self) {
        let mut work = locked(&self.work);
        work.looks = true;
        work.is_waiting = true;
        self.changed.notify_all();
    }

    /// Ends the folder's thread.
    pub(super) fn close(&self) {
        self.begin_change().work.is_closed = true;
    }

    /// Waits for something to do.
    pub(super) fn next_task(&self) -> Task {
        let mut work = locked(&self.work);
        while !work.is_waiting {
            work = self
                .changed
                .wait(work)
                .unwrap_or_else(PoisonError::into_inner);
        }
        if work.is_closed {
            return Task::Close;
        }
        if work.reads_all {
            return Task::Read;
        }
        if std::mem::take(&mut work.looks) {
            return Task::Look;
        }
        work.is_waiting = false;
        Task::Check(std::mem::take(&mut work.outdated), work.complete)
    }

    /// The files on the disk with the open documents over them. `None` if there is no folder any more.
    fn world(&self) -> Option<Overlay<Disk>> {
        let disk = Disk::open(&self.root).ok()?;
        let documents = locked(&self.documents);
        let texts = documents.iter();
        let texts = texts.map(|(path, document)| (path.clone(), document.text.clone()));
        Some(Overlay::new(disk, texts.collect()))
    }

    /// Reads all files, and puts them in the place of the sources.
    pub(super) fn read_from_nothing(&self) {
        locked(&self.work).reads_all = false;
        // Requests are answered from the sources before while this takes its time.
        let sources = self.world().map(|world| read(&world));
        let mut change = self.begin_change();
        let mut current = self.sources.write().unwrap_or_else(PoisonError::into_inner);
        *current = sources;
        change.work.outdated = Outdated::all();
        // What was typed meanwhile.
        if let Some(sources) = &mut *current {
            for (path, document) in &*locked(&self.documents) {
                let source = sources.tree.source(path);
                let has_changed = source.is_some_and(|source| source.text != document.text);
                if has_changed && replace_in(sources, path, document.text.clone()).is_none() {
                    change.work.reads_all = true;
                }
            }
        }
    }

    /// Whether files have changed, come or gone since they were read.
    pub(super) fn is_changed_on_disk(&self) -> bool {
        let Some(world) = self.world() else {
            return true;
        };
        let sources = self.sources.read().unwrap_or_else(PoisonError::into_inner);
        let documents = locked(&self.documents);
        let is_open = |path: &str| documents.contains_key(path);
        sources
            .as_ref()
            .is_none_or(|sources| !sources.tree.is_current_but(&world, is_open))
    }

    /// The sources, for as long as nothing changes them.
    pub(super) fn sources(&self) -> SourcesGuard<'_> {
        SourcesGuard(self.sources.read().unwrap_or_else(PoisonError::into_inner))
    }

    /// Waits until the sources have been read for the first time.
    pub(super) fn wait_until_read(&self) {
        let work = locked(&self.work);
        let is_unread = |_: &mut Work| self.sources().get().is_none();
        // Whoever waits too long gets no answer rather than none at all.
        let _ = self.changed.wait_timeout_while(work, PATIENCE, is_unread);
    }

    pub(super) fn changes(&self) -> u64 {
        self.changes.load(Ordering::SeqCst)
    }

    /// Stores the findings of a check.
    pub(super) fn set_checked(&self, changes: u64, findings: Arc<Findings>) {
        *locked(&self.checked) = Some((changes, findings));
        self.is_checked.notify_all();
    }

    /// The sources with their findings. Waits for a check that is running. `None` if that takes too long.
    pub(super) fn checked_sources(&self) -> Option<(SourcesGuard<'_>, Arc<Findings>)> {
        // Between the two locks, the folder's thread may read all files again.
        for _ in 0..MOST_TRIES {
            let checked = locked(&self.checked);
            let is_outdated = |checked: &mut Option<(u64, Arc<Findings>)>| {
                let checked = checked.as_ref();
                checked.is_none_or(|(changes, _)| *changes != self.changes())
            };
            let waited = self
                .is_checked
                .wait_timeout_while(checked, PATIENCE, is_outdated);
            let (checked, timeout) = waited.unwrap_or_else(PoisonError::into_inner);
            if timeout.timed_out() {
                return None;
            }
            let (changes, findings) = checked
                .as_ref()
                .map(|(at, found)| (*at, Arc::clone(found)))?;
            drop(checked);
            let sources = self.sources();
            if changes == self.changes() {
                return Some((sources, findings));
            }
        }
        None
    }
}

/// Replaces the text of a source. `None` if the sources have to be read from nothing.
fn replace_in(sources: &mut Sources, path: &str, text: String) -> Option<Outdated> {
    let file: FileId = sources.tree.source(path)?.id;
    let replaced = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
        replace_text(sources, file, text)
    }));
    replaced.unwrap_or_default()
}

/// Sources that can be read.
pub(super) struct SourcesGuard<'f>(RwLockReadGuard<'f, Option<Sources>>);

impl SourcesGuard<'_> {
    /// `None` before they are read, and if the folder is gone.
    pub(super) fn get(&self) -> Option<&Sources> {
        self.0.as_ref()
    }
}
