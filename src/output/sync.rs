//! Makes files durable: asks the system to write them to the disk before going on.

use rayon::prelude::*;
use std::fs;
use std::io;
use std::path::Path;

/// Whether files are written to the disk before a run goes on, so that they survive a power failure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Syncing {
    /// Yes.
    On,
    /// No: after a power failure, files may be empty or missing.
    Off,
}

/// With more files than this, the whole file system is written instead, where the system can do so: one call takes
/// less time than one for each file.
const MOST_SINGLE_FILES: usize = 32;

impl Syncing {
    /// Writes files and folders to the disk.
    pub(super) fn files<'p>(self, paths: impl IntoIterator<Item = &'p Path>) -> io::Result<()> {
        if self == Syncing::Off {
            return Ok(());
        }
        let paths: Vec<&Path> = paths.into_iter().collect();
        match paths.first() {
            Some(first) if paths.len() > MOST_SINGLE_FILES && file_system_of(first)? => Ok(()),
            _ => paths.par_iter().try_for_each(|path| one(path)),
        }
    }
}

/// Writes the file system of a path to the disk. Returns false where the system has no call for this.
#[cfg(target_os = "linux")]
fn file_system_of(path: &Path) -> io::Result<bool> {
    rustix::fs::syncfs(fs::File::open(path)?)?;
    Ok(true)
}

#[cfg(not(target_os = "linux"))]
fn file_system_of(_: &Path) -> io::Result<bool> {
    Ok(false)
}

fn one(path: &Path) -> io::Result<()> {
    // Windows opens no folders as files, and needs write access to sync a file.
    if cfg!(windows) {
        return if path.is_dir() {
            Ok(())
        } else {
            fs::OpenOptions::new().write(true).open(path)?.sync_all()
        };
    }
    match fs::File::open(path)?.sync_all() {
        // Some file systems can't sync a folder by itself.
        Err(error) if is_not_possible(&error) && path.is_dir() => Ok(()),
        result => result,
    }
}

fn is_not_possible(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported
    )
}
