//! Files with other texts in their place.

use super::{FileState, Listing, World};
use std::collections::BTreeMap;
use std::io;

/// A world with texts over its files: of open documents, of corrected sources, or of files that are not written yet.
#[derive(Clone, Debug)]
pub(crate) struct Overlay<W> {
    world: W,
    /// By path from the root, with `/` as separator.
    texts: BTreeMap<String, String>,
}

impl<W: World> Overlay<W> {
    pub(crate) fn new(world: W, texts: BTreeMap<String, String>) -> Overlay<W> {
        Overlay { world, texts }
    }

    /// Replaces a file's text, or adds the file.
    pub(crate) fn set(&mut self, path: &str, text: String) {
        self.texts.insert(path.to_owned(), text);
    }
}

impl<W: World> World for Overlay<W> {
    fn name(&self) -> String {
        self.world.name()
    }

    fn list(&self) -> Listing {
        let mut listing = self.world.list();
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
            None => self.world.read(path),
        }
    }

    fn state(&self, path: &str) -> Option<FileState> {
        match self.texts.get(path) {
            Some(_) => None,
            None => self.world.state(path),
        }
    }
}
