//! The documents that the client has open.

use super::encoding::{Encoding, Lines};
use lsp_types::{TextDocumentContentChangeEvent, Uri};

/// A document that is open. What the disk has of it does not count.
#[derive(Clone, Debug)]
pub(super) struct Document {
    /// As the client writes it.
    pub(super) uri: Uri,
    pub(super) version: i32,
    pub(super) text: String,
}

impl Document {
    /// Applies changes in their order. Each has the positions of the text after those before it.
    pub(super) fn change(
        &mut self,
        version: i32,
        changes: Vec<TextDocumentContentChangeEvent>,
        encoding: Encoding,
    ) {
        self.version = version;
        for change in changes {
            match change.range {
                None => self.text = change.text,
                Some(range) => {
                    let range = Lines::of(&self.text, encoding).offsets(range);
                    self.text.replace_range(range, &change.text);
                }
            }
        }
    }
}
