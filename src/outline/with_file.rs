//! A sources folder with a file that is not written yet.

use super::new_files::NewFile;
use crate::tree::{Disk, FileState, Listing, World};
use std::io;

/// A folder with one file more.
pub(crate) struct WithFile<'w> {
    pub(crate) disk: &'w Disk,
    pub(crate) file: &'w NewFile,
}

impl World for WithFile<'_> {
    fn name(&self) -> String {
        self.disk.name()
    }

    fn list(&self) -> Listing {
        let mut listing = self.disk.list();
        if let Err(at) = listing.paths.binary_search(&self.file.path) {
            listing.paths.insert(at, self.file.path.clone());
        }
        listing
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        if path == self.file.path {
            return Ok(self.file.text.clone().into_bytes());
        }
        self.disk.read(path)
    }

    fn state(&self, path: &str) -> Option<FileState> {
        (path != self.file.path).then(|| self.disk.state(path))?
    }
}
