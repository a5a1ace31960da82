//! Where TOML text is in its file.

use crate::finding::{FileId, Span};
use toml::de::{DeTable, DeValue};

/// The position of the TOML text in its file, as a byte offset.
#[derive(Clone, Copy, Debug)]
pub(super) struct Origin {
    pub(super) file: FileId,
    pub(super) offset: usize,
}

impl Origin {
    pub(super) fn span(self, range: std::ops::Range<usize>) -> Span {
        Span::new(
            self.file,
            self.offset + range.start..self.offset + range.end,
        )
    }
}

/// A key with its value.
type Entry<'t> = (
    &'t toml::Spanned<std::borrow::Cow<'t, str>>,
    &'t toml::Spanned<DeValue<'t>>,
);

/// The entries of a table in the order of the file.
pub(super) fn in_file_order<'t>(table: &'t DeTable<'t>) -> Vec<Entry<'t>> {
    let mut entries: Vec<Entry<'t>> = table.iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    entries
}
