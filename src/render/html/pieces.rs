//! Pieces of pages that are remembered.
//!
//! A machine is made safe in the same steps before each of its jobs, and what is done in a step is the
//! same on its sheet, its checklist and its procedure's page: most of what is on a page is on
//! another one of its language. So a piece is set once, and found again by everything that decides
//! how it is set.

use super::place::PieceAddresses;
use crate::cache::Memo;
use crate::page::{Block, SheetStep, SheetStepContent};
use std::borrow::Cow;
use tera::Value;

/// A piece of a page, and everything that decides its markup in one language.
#[derive(Debug, Hash)]
pub(super) struct Piece<'p> {
    /// The template component that sets it.
    pub(super) component: &'static str,
    /// The kind of page that it is on.
    pub(super) kind: &'static str,
    /// Its own anchor; empty where it has none.
    pub(super) anchor: Cow<'p, str>,
    /// What it has in the place of targets and figures.
    pub(super) addresses: PieceAddresses,
    /// What it says.
    pub(super) content: PieceContent<'p>,
}

/// What a piece says.
#[derive(Clone, Copy, Debug, Hash)]
pub(super) enum PieceContent<'p> {
    Block(&'p Block),
    Step(&'p SheetStep),
    Content(&'p SheetStepContent),
}

/// The markup of pieces, in one language and with one set of templates.
pub(super) type Pieces = Memo<Value>;

/// The bytes of markup at which the older half is dropped: a large shop's would not all fit.
const MOST_BYTES: usize = 1 << 23;

/// An empty memo for pieces.
pub(super) fn pieces() -> Pieces {
    let bytes = |markup: &Value| markup.as_str().map_or(0, str::len);
    Memo::new("pieces of pages", MOST_BYTES, bytes)
}
