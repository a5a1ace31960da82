//! A cache of the rendered pieces of pages.
//!
//! Most of a page's content also is on other pages of the same language: the jobs of a machine begin
//! with the same steps that make it safe, and a step is on its sheet and its checklist. So each piece
//! is rendered once. The cache key is a [`Piece`], which has everything that the
//! markup depends on.

use super::place::PieceAddresses;
use crate::cache::Memo;
use crate::page::{Block, SheetStep, SheetStepContent};
use std::borrow::Cow;
use tera::Value;

/// A piece of a page, with everything that its markup depends on in one language.
#[derive(Debug, Hash)]
pub(super) struct Piece<'p> {
    /// The template component that renders it.
    pub(super) component: &'static str,
    /// The kind of page.
    pub(super) kind: &'static str,
    /// The piece's anchor. Empty if it has none.
    pub(super) anchor: Cow<'p, str>,
    pub(super) addresses: PieceAddresses,
    pub(super) content: PieceContent<'p>,
}

#[derive(Clone, Copy, Debug, Hash)]
pub(super) enum PieceContent<'p> {
    Block(&'p Block),
    Step(&'p SheetStep),
    Content(&'p SheetStepContent),
}

/// The cache of markup, for one language and one set of templates.
pub(super) type Pieces = Memo<Value>;

/// The size of the cached markup, in bytes, at which the older half is dropped. All pieces of a large
/// shop would need too much memory.
const MAX_BYTES: usize = 1 << 23;

pub(super) fn new_pieces() -> Pieces {
    let bytes = |markup: &Value| markup.as_str().map_or(0, str::len);
    Memo::new("pieces of pages", MAX_BYTES, bytes)
}
