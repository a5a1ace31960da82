//! Notices when a source changes.

use crate::report::Entry;
use notify::event::ModifyKind;
use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher as _};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::sleep;
use std::time::{Duration, SystemTime};

/// A save is several events, and a checkout hundreds: it is over when for so long there is none.
const QUIET: Duration = Duration::from_millis(8);
/// So many times it is waited for that; then pages are made of what there is.
const MOST_WAITS: usize = 25;
/// So often it is looked whether a folder has come or gone, of which nothing tells when it was moved
/// together with the one it is in.
const LOOK: Duration = Duration::from_millis(300);

/// What wakes the one who waits.
#[derive(Debug)]
pub(super) enum Signal {
    /// Something happened below a folder.
    Event(notify::Result<Event>),
    /// The preview is to end.
    Stop,
}

/// A watch on some folders, which may come and go.
#[derive(Debug)]
pub(super) struct Watch {
    watcher: RecommendedWatcher,
    roots: Vec<Root>,
    /// Why not all that changes is noticed.
    fault: Option<String>,
    sender: Sender<Signal>,
    signals: Receiver<Signal>,
}

#[derive(Debug)]
struct Root {
    path: PathBuf,
    /// The folder that is watched; none while there is none.
    watched: Option<Identity>,
    /// Why what is there can't be watched.
    fault: Option<String>,
}

/// What tells one folder from another that later stands at the same path.
#[derive(Debug, PartialEq, Eq)]
struct Identity {
    #[cfg(unix)]
    number: (u64, u64),
    made: Option<SystemTime>,
}

impl Identity {
    fn of(path: &Path) -> Option<Identity> {
        let found = fs::metadata(path).ok().filter(fs::Metadata::is_dir)?;
        Some(Identity {
            #[cfg(unix)]
            number: {
                use std::os::unix::fs::MetadataExt as _;
                (found.dev(), found.ino())
            },
            made: found.created().ok(),
        })
    }
}

impl Watch {
    /// Watches these folders, whether they are there or not.
    pub(super) fn new(folders: impl IntoIterator<Item = PathBuf>) -> notify::Result<Watch> {
        let (sender, signals) = channel();
        let of_watcher = sender.clone();
        let watcher = notify::recommended_watcher(move |event| {
            // Where nobody listens any more, the preview has ended.
            let _ = of_watcher.send(Signal::Event(event));
        })?;
        let roots = folders.into_iter().map(|folder| Root {
            // As events name it.
            path: std::path::absolute(&folder).unwrap_or(folder),
            watched: None,
            fault: None,
        });
        let mut watch = Watch {
            watcher,
            roots: roots.collect(),
            fault: None,
            sender,
            signals,
        };
        watch.look_after_folders();
        Ok(watch)
    }

    /// Where signals are sent.
    pub(super) fn sender(&self) -> Sender<Signal> {
        self.sender.clone()
    }

    /// What can't be watched.
    pub(super) fn faults(&self) -> impl Iterator<Item = Entry> {
        let of_roots = self.roots.iter().filter_map(|root| {
            let path = root.path.display();
            let why = root.fault.as_ref()?;
            Some(format!("can't watch `{path}`: {why}"))
        });
        let of_all = self.fault.iter();
        let of_all = of_all.map(|why| format!("not every change is noticed any more: {why}"));
        of_roots.chain(of_all).map(Entry::trouble)
    }

    /// Waits until a source has changed; false when the preview is to end.
    pub(super) fn wait(&mut self) -> bool {
        let mut has_changed = false;
        while !has_changed {
            match self.signals.recv_timeout(LOOK) {
                Ok(Signal::Event(event)) => has_changed = self.matters(event),
                Ok(Signal::Stop) | Err(RecvTimeoutError::Disconnected) => return false,
                Err(RecvTimeoutError::Timeout) => {}
            }
            has_changed |= self.look_after_folders();
        }
        for _ in 0..MOST_WAITS {
            sleep(QUIET);
            let mut is_quiet = true;
            while let Ok(signal) = self.signals.try_recv() {
                match signal {
                    Signal::Event(event) => is_quiet &= !self.matters(event),
                    Signal::Stop => return false,
                }
            }
            is_quiet &= !self.look_after_folders();
            if is_quiet {
                break;
            }
        }
        true
    }

    /// Whether pages may come out otherwise after an event.
    fn matters(&mut self, event: notify::Result<Event>) -> bool {
        let event = match event {
            Ok(event) => event,
            Err(why) => {
                // What was missed shows when the pages are made; what will be missed has to be said.
                self.fault = Some(why.to_string());
                return true;
            }
        };
        // Reading them, as we do ourselves, changes nothing.
        if matches!(event.kind, EventKind::Access(_)) {
            return false;
        }
        let is_move = matches!(
            event.kind,
            EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(_))
        );
        if is_move {
            let gone = |root: &&mut Root| event.paths.contains(&root.path);
            // It may stand there again already, and be another.
            for root in self.roots.iter_mut().filter(gone) {
                root.watched = None;
            }
        }
        event.need_rescan() || event.paths.iter().any(|path| self.is_source(path))
    }

    /// Whether a path may be one of a source: not a hidden file, nor one that an editor keeps beside.
    fn is_source(&self, path: &Path) -> bool {
        let below = self
            .roots
            .iter()
            .find_map(|root| path.strip_prefix(&root.path).ok());
        let mut names = below
            .unwrap_or(path)
            .iter()
            .map(|name| name.to_string_lossy());
        !names.any(|name| name.starts_with(['.', '#']) || name.ends_with('~'))
    }

    /// Watches what has come to stand at a folder's path; whether any has come or gone.
    fn look_after_folders(&mut self) -> bool {
        let mut has_changed = false;
        for root in &mut self.roots {
            let there = Identity::of(&root.path);
            if there == root.watched {
                continue;
            }
            // Of a folder that is gone it is known already that it is not watched.
            let _ = self.watcher.unwatch(&root.path);
            root.watched = None;
            let watched = there
                .is_some()
                .then(|| self.watcher.watch(&root.path, RecursiveMode::Recursive));
            let fault = match watched {
                Some(Err(why)) => Some(why.to_string()),
                _ => None,
            };
            if fault.is_none() {
                root.watched = there;
                has_changed = true;
            } else {
                has_changed |= fault != root.fault;
            }
            root.fault = fault;
        }
        has_changed
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::thread;

    /// Whether a change is noticed; the watch is ready for the next one then.
    fn notices(watch: &mut Watch, change: impl FnOnce()) -> bool {
        let stop = watch.sender();
        let (noticed_at, is_noticed) = channel::<()>();
        change();
        let stopping = thread::spawn(move || {
            if is_noticed.recv_timeout(4 * LOOK) == Err(RecvTimeoutError::Timeout) {
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
    fn every_way_to_change_a_source_is_noticed() {
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
        // A folder that was not there when the watch began.
        let templates = folder.path().join("templates");
        assert!(notices(&mut watch, || {
            fs::create_dir_all(templates.join("html")).unwrap();
        }));
        assert!(notices(&mut watch, || {
            fs::write(templates.join("html/shop.css"), "five").unwrap();
        }));
    }

    #[test]
    fn reading_and_an_editors_own_files_are_no_change() {
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

    /// Its number and its time of making may be the same, where the disk knows no better.
    #[test]
    fn a_folder_that_was_gone_is_watched_anew_even_if_it_looks_the_same() {
        let (_folder, tree, mut watch) = shop();
        assert!(!watch.look_after_folders());
        let gone = Event::new(EventKind::Remove(notify::event::RemoveKind::Folder));
        assert!(watch.matters(Ok(gone.add_path(tree))));
        assert!(watch.look_after_folders());
    }

    #[test]
    fn a_tree_that_goes_and_comes_is_followed() {
        let (folder, tree, mut watch) = shop();
        let aside = folder.path().join("aside");
        assert!(notices(&mut watch, || fs::rename(&tree, &aside).unwrap()));
        assert!(notices(&mut watch, || fs::rename(&aside, &tree).unwrap()));
        let file = tree.join("air/cover.md");
        assert!(notices(&mut watch, || fs::write(&file, "two").unwrap()));
        // Gone and there again at once, as another.
        assert!(notices(&mut watch, || {
            fs::remove_dir_all(&tree).unwrap();
            fs::create_dir_all(tree.join("air")).unwrap();
        }));
        assert!(notices(&mut watch, || fs::write(&file, "three").unwrap()));
    }
}
