//! The files of a tree with open documents in the place of those on the disk.

use crate::tree::{Disk, FileState, Listing, World};
use std::collections::BTreeMap;
use std::io;

/// A folder on the disk, with the texts of open documents over it.
#[derive(Debug)]
pub(super) struct Overlay {
    disk: Disk,
    /// By path from the root, with `/` as separator.
    texts: BTreeMap<String, String>,
}

impl Overlay {
    pub(super) fn new(disk: Disk, texts: BTreeMap<String, String>) -> Overlay {
        Overlay { disk, texts }
    }
}

impl World for Overlay {
    fn name(&self) -> String {
        self.disk.name()
    }

    fn list(&self) -> Listing {
        let mut listing = self.disk.list();
        let new = self.texts.keys();
        let new = new.filter(|path| listing.paths.binary_search(path).is_err());
        let new: Vec<String> = new.cloned().collect();
        listing.paths.extend(new);
        listing.paths.sort();
        listing
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        match self.texts.get(path) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => self.disk.read(path),
        }
    }

    fn state(&self, path: &str) -> Option<FileState> {
        match self.texts.get(path) {
            Some(_) => None,
            None => self.disk.state(path),
        }
    }
}
