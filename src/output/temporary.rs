//! Temporary folders. Only this user can read them, and they are removed even if a signal ends the program.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// All temporary folders of this process.
static FOLDERS: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// Every folder in the system's folder for temporary files has a name that starts with this.
const PREFIX: &str = "benchleaf-";

/// The name of the file in a temporary folder that is locked while the program runs that made it.
const IN_USE: &str = ".in-use";

/// A temporary folder. Dropping it removes it.
#[derive(Debug)]
pub(crate) struct TemporaryFolder {
    path: PathBuf,
    /// Locked until the folder is dropped.
    _lock: Option<fs::File>,
}

impl TemporaryFolder {
    /// Makes a folder in the system's folder for temporary files. Removes folders of this user that a killed run left.
    ///
    /// # Errors
    ///
    /// If the folder can't be made.
    pub(crate) fn new(purpose: &str) -> io::Result<TemporaryFolder> {
        let mut builder = tempfile::Builder::new();
        let prefix = format!("{PREFIX}{purpose}-");
        builder.prefix(&prefix);
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(PRIVATE));
        let folder = builder.tempdir()?;
        // Locked before it has its name, so that no other run takes the folder for one that was left.
        let draft = folder.path().join(".in-use.draft");
        let lock = fs::File::create_new(&draft)?;
        lock.lock()?;
        fs::rename(draft, folder.path().join(IN_USE))?;
        remove_left_folders(folder.path());
        Ok(TemporaryFolder::of(folder.keep(), Some(lock)))
    }

    /// Makes a folder at a path, which is known to be free.
    ///
    /// # Errors
    ///
    /// If the folder can't be made.
    pub(super) fn at(path: PathBuf) -> io::Result<TemporaryFolder> {
        let mut builder = fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, PRIVATE);
        builder.create(&path)?;
        Ok(TemporaryFolder::of(path, None))
    }

    fn of(path: PathBuf, lock: Option<fs::File>) -> TemporaryFolder {
        folders(|folders| folders.insert(path.clone()));
        TemporaryFolder { path, _lock: lock }
    }

    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// From now on, the folder stays when this value is dropped.
    pub(super) fn keep(&self) {
        folders(|folders| folders.remove(&self.path));
    }
}

impl Drop for TemporaryFolder {
    fn drop(&mut self) {
        if folders(|folders| folders.remove(&self.path)) {
            let _ = fs::remove_dir_all(&self.path);
        }
    }
}

/// Removes all temporary folders of this process, which is about to end.
pub(crate) fn remove_temporary_folders() {
    for folder in folders(std::mem::take) {
        // Another thread may still write a file into the folder.
        for _ in 0..20 {
            match fs::remove_dir_all(&folder) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    std::thread::sleep(Duration::from_millis(10));
                }
                _ => break,
            }
        }
    }
}

#[cfg(unix)]
const PRIVATE: u32 = 0o700;

fn folders<T>(action: impl FnOnce(&mut BTreeSet<PathBuf>) -> T) -> T {
    action(&mut FOLDERS.lock().unwrap_or_else(PoisonError::into_inner))
}

/// Removes the folders beside `own` that belong to the same user and that no running program uses.
fn remove_left_folders(own: &Path) {
    let Some(entries) = own.parent().and_then(|parent| fs::read_dir(parent).ok()) else {
        return;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        let is_ours = entry.file_name().to_string_lossy().starts_with(PREFIX)
            && path != own
            && entry.file_type().is_ok_and(|kind| kind.is_dir())
            && has_same_owner(&path, own);
        // Without the file, the folder is just being made, or is not one of this program.
        let Some(lock) = is_ours
            .then(|| fs::File::open(path.join(IN_USE)).ok())
            .flatten()
        else {
            continue;
        };
        if lock.try_lock().is_ok() {
            let _ = fs::remove_dir_all(&path);
        }
    }
}

#[cfg(unix)]
fn has_same_owner(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    let owner = |path: &Path| {
        fs::symlink_metadata(path)
            .ok()
            .map(|metadata| metadata.uid())
    };
    owner(one).is_some() && owner(one) == owner(other)
}

/// Elsewhere, the folder for temporary files belongs to one user.
#[cfg(not(unix))]
fn has_same_owner(_: &Path, _: &Path) -> bool {
    true
}
