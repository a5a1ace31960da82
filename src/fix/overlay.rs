//! Files with edited ones in their place.

use crate::tree::{FileState, Listing, World};
use std::collections::BTreeMap;
use std::io;

/// A world whose files can be replaced in memory.
#[derive(Clone)]
pub(super) struct Overlay<'w> {
    world: &'w dyn World,
    edited: BTreeMap<String, String>,
}

impl<'w> Overlay<'w> {
    pub(super) fn new(world: &'w dyn World) -> Overlay<'w> {
        Overlay {
            world,
            edited: BTreeMap::new(),
        }
    }

    /// Replaces a file's text.
    pub(super) fn set(&mut self, path: &str, text: String) {
        self.edited.insert(path.to_owned(), text);
    }
}

impl World for Overlay<'_> {
    fn name(&self) -> String {
        self.world.name()
    }

    fn list(&self) -> Listing {
        self.world.list()
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        match self.edited.get(path) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => self.world.read(path),
        }
    }

    fn state(&self, path: &str) -> Option<FileState> {
        match self.edited.get(path) {
            Some(_) => None,
            None => self.world.state(path),
        }
    }
}
