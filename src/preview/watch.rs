//! Waits for changes of the sources.

use crate::report::FindingEntry;
use notify::event::ModifyKind;
use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher as _};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::sleep;
use std::time::{Duration, SystemTime};

/// A change is complete when there has been no event for this long. A save causes several events, and a
/// checkout hundreds.
const QUIET_PERIOD: Duration = Duration::from_millis(8);
/// The most quiet periods to wait for. Then the pages are built in any case.
const MAX_WAITS: usize = 25;
/// How often the watched folders are checked. No event reports a folder that is moved together with its
/// parent.
const POLL_INTERVAL: Duration = Duration::from_millis(300);

/// A message to the thread that waits for changes.
#[derive(Debug)]
pub(super) enum Signal {
    /// An event in a watched folder.
    Event(notify::Result<Event>),
    /// A request to end the preview.
    Stop,
}

/// A watch on some folders, which may be removed and created again.
#[derive(Debug)]
pub(super) struct Watch {
    watcher: RecommendedWatcher,
    roots: Vec<Root>,
    /// Why some changes may be missed.
    failure: Option<String>,
    sender: Sender<Signal>,
    signals: Receiver<Signal>,
}

#[derive(Debug)]
struct Root {
    path: PathBuf,
    /// The watched folder. None while it does not exist.
    watched: Option<Identity>,
    /// Why the folder can't be watched.
    failure: Option<String>,
}

/// Distinguishes a folder from a later one at the same path.
#[derive(Debug, PartialEq, Eq)]
struct Identity {
    #[cfg(unix)]
    number: (u64, u64),
    created: Option<SystemTime>,
}

impl Identity {
    fn of(path: &Path) -> Option<Identity> {
        let metadata = fs::metadata(path).ok().filter(fs::Metadata::is_dir)?;
        Some(Identity {
            #[cfg(unix)]
            number: {
                use std::os::unix::fs::MetadataExt as _;
                (metadata.dev(), metadata.ino())
            },
            created: metadata.created().ok(),
        })
    }
}

impl Watch {
    /// Watches these folders, which need not exist yet.
    pub(super) fn new(folders: impl IntoIterator<Item = PathBuf>) -> notify::Result<Watch> {
        let (sender, signals) = channel();
        let event_sender = sender.clone();
        let watcher = notify::recommended_watcher(move |event| {
            // An error means that the preview has ended.
            let _ = event_sender.send(Signal::Event(event));
        })?;
        let roots = folders.into_iter().map(|folder| Root {
            // Events have absolute paths.
            path: std::path::absolute(&folder).unwrap_or(folder),
            watched: None,
            failure: None,
        });
        let mut watch = Watch {
            watcher,
            roots: roots.collect(),
            failure: None,
            sender,
            signals,
        };
        watch.update_folders();
        Ok(watch)
    }

    /// A sender of signals to this watch.
    pub(super) fn sender(&self) -> Sender<Signal> {
        self.sender.clone()
    }

    /// An error for each folder that can't be watched, and for missed events.
    pub(super) fn failures(&self) -> impl Iterator<Item = FindingEntry> {
        let of_roots = self.roots.iter().filter_map(|root| {
            let path = root.path.display();
            let error = root.failure.as_ref()?;
            Some(format!("can't watch `{path}`: {error}"))
        });
        let missed = self.failure.iter();
        let missed = missed.map(|error| format!("not every change is noticed any more: {error}"));
        of_roots.chain(missed).map(FindingEntry::without_rule)
    }

    /// Waits until a source has changed. Returns false if the preview must end.
    pub(super) fn wait(&mut self) -> bool {
        let mut has_changed = false;
        while !has_changed {
            match self.signals.recv_timeout(POLL_INTERVAL) {
                Ok(Signal::Event(event)) => has_changed = self.is_relevant(event),
                Ok(Signal::Stop) | Err(RecvTimeoutError::Disconnected) => return false,
                Err(RecvTimeoutError::Timeout) => {}
            }
            has_changed |= self.update_folders();
        }
        for _ in 0..MAX_WAITS {
            sleep(QUIET_PERIOD);
            let mut is_quiet = true;
            while let Ok(signal) = self.signals.try_recv() {
                match signal {
                    Signal::Event(event) => is_quiet &= !self.is_relevant(event),
                    Signal::Stop => return false,
                }
            }
            is_quiet &= !self.update_folders();
            if is_quiet {
                break;
            }
        }
        true
    }

    /// Whether an event may change the pages.
    fn is_relevant(&mut self, event: notify::Result<Event>) -> bool {
        let event = match event {
            Ok(event) => event,
            Err(error) => {
                // A build now includes the missed changes. Later changes may be missed; `failures` reports this.
                self.failure = Some(error.to_string());
                return true;
            }
        };
        // Our own reading of the sources causes such events.
        if matches!(event.kind, EventKind::Access(_)) {
            return false;
        }
        let is_move = matches!(
            event.kind,
            EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(_))
        );
        if is_move {
            let is_moved = |root: &&mut Root| event.paths.contains(&root.path);
            // A new folder may already be at this path.
            for root in self.roots.iter_mut().filter(is_moved) {
                root.watched = None;
            }
        }
        event.need_rescan() || event.paths.iter().any(|path| self.is_source(path))
    }

    /// Whether a path can be a source: neither hidden nor an editor's backup file.
    fn is_source(&self, path: &Path) -> bool {
        let relative = self
            .roots
            .iter()
            .find_map(|root| path.strip_prefix(&root.path).ok());
        let mut names = relative
            .unwrap_or(path)
            .iter()
            .map(|name| name.to_string_lossy());
        !names.any(|name| name.starts_with(['.', '#']) || name.ends_with('~'))
    }

    /// Watches the folders that exist now. Returns whether any was created, removed or replaced.
    fn update_folders(&mut self) -> bool {
        let mut has_changed = false;
        for root in &mut self.roots {
            let current = Identity::of(&root.path);
            if current == root.watched {
                continue;
            }
            // Fails if the folder has been removed; then it is no longer watched anyway.
            let _ = self.watcher.unwatch(&root.path);
            root.watched = None;
            let watched = current
                .is_some()
                .then(|| self.watcher.watch(&root.path, RecursiveMode::Recursive));
            let failure = match watched {
                Some(Err(error)) => Some(error.to_string()),
                _ => None,
            };
            if failure.is_none() {
                root.watched = current;
                has_changed = true;
            } else {
                has_changed |= failure != root.failure;
            }
            root.failure = failure;
        }
        has_changed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::thread;

    /// Whether the watch notices a change. Clears its remaining signals.
    fn notices(watch: &mut Watch, change: impl FnOnce()) -> bool {
        let stop = watch.sender();
        let (noticed_at, is_noticed) = channel::<()>();
        change();
        let stopping = thread::spawn(move || {
            if is_noticed.recv_timeout(4 * POLL_INTERVAL) == Err(RecvTimeoutError::Timeout) {
                let _ = stop.send(Signal::Stop);
            }
        });
        let noticed = watch.wait();
        drop(noticed_at);
        stopping.join().unwrap();
        while watch.signals.try_recv().is_ok() {}
        noticed
    }

    fn shop() -> (tempfile::TempDir, PathBuf, Watch) {
        let folder = tempfile::tempdir().unwrap();
        let tree = folder.path().join("shop");
        fs::create_dir_all(tree.join("air")).unwrap();
        fs::write(tree.join("air/cover.md"), "one").unwrap();
        let watch = Watch::new([tree.clone(), folder.path().join("templates")]).unwrap();
        (folder, tree, watch)
    }

    #[test]
    fn every_kind_of_source_change_is_noticed() {
        let (folder, tree, mut watch) = shop();
        let file = tree.join("air/cover.md");
        assert!(notices(&mut watch, || fs::write(&file, "two").unwrap()));
        assert!(notices(&mut watch, || {
            fs::write(tree.join("air/.cover.md.new"), "three").unwrap();
            fs::rename(tree.join("air/.cover.md.new"), &file).unwrap();
        }));
        assert!(notices(&mut watch, || fs::remove_file(&file).unwrap()));
        assert!(notices(&mut watch, || fs::create_dir(tree.join("fuel")).unwrap()));
        assert!(notices(&mut watch, || {
            fs::write(tree.join("fuel/bowl.md"), "four").unwrap();
        }));
        // This folder did not exist when the watch began.
        let templates = folder.path().join("templates");
        assert!(notices(&mut watch, || {
            fs::create_dir_all(templates.join("html")).unwrap();
        }));
        assert!(notices(&mut watch, || {
            fs::write(templates.join("html/shop.css"), "five").unwrap();
        }));
    }

    #[test]
    fn reads_and_hidden_or_backup_files_are_ignored() {
        let (_folder, tree, mut watch) = shop();
        assert!(!notices(&mut watch, || {
            fs::read(tree.join("air/cover.md")).unwrap();
            fs::read_dir(&tree).unwrap().count();
            fs::write(tree.join("air/.cover.md.swp"), "x").unwrap();
            fs::write(tree.join("air/cover.md~"), "x").unwrap();
            fs::write(tree.join("air/#cover.md#"), "x").unwrap();
            fs::create_dir_all(tree.join(".git/objects")).unwrap();
            fs::write(tree.join(".git/objects/1"), "x").unwrap();
        }));
    }

    /// Some file systems reuse the inode number and the time of creation.
    #[test]
    fn replaced_folder_with_the_same_identity_is_watched_again() {
        let (_folder, tree, mut watch) = shop();
        assert!(!watch.update_folders());
        let removed = Event::new(EventKind::Remove(notify::event::RemoveKind::Folder));
        assert!(watch.is_relevant(Ok(removed.add_path(tree))));
        assert!(watch.update_folders());
    }

    #[test]
    fn tree_that_is_removed_and_created_again_is_watched() {
        let (folder, tree, mut watch) = shop();
        let aside = folder.path().join("aside");
        assert!(notices(&mut watch, || fs::rename(&tree, &aside).unwrap()));
        assert!(notices(&mut watch, || fs::rename(&aside, &tree).unwrap()));
        let file = tree.join("air/cover.md");
        assert!(notices(&mut watch, || fs::write(&file, "two").unwrap()));
        // The tree is replaced immediately.
        assert!(notices(&mut watch, || {
            fs::remove_dir_all(&tree).unwrap();
            fs::create_dir_all(tree.join("air")).unwrap();
        }));
        assert!(notices(&mut watch, || fs::write(&file, "three").unwrap()));
    }
}
