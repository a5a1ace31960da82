//! Pieces of pages that were set before.
//!
//! A machine is made safe in the same steps before each of its jobs, and what is done in a step is the
//! same on its sheet, its checklist and its procedure's page: most of what stands on a page stood on
//! another one of its language. What a piece says is all that has a say in how it is set, so that it
//! is set once and found again by it.

use std::borrow::Cow;
use std::hash::BuildHasher;
use std::sync::{Mutex, PoisonError};

use foldhash::fast::FixedState;
use indexmap::IndexMap;
use tera::Value;

use super::place::PieceAddresses;
use crate::page::{Block, Step, StepContent};

/// A piece of a page, and everything that decides its markup in one language.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
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
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) enum PieceContent<'p> {
    Block(Cow<'p, Block>),
    Step(Cow<'p, Step>),
    Content(Cow<'p, StepContent>),
}

impl Piece<'_> {
    fn into_owned(self) -> Piece<'static> {
        Piece {
            component: self.component,
            kind: self.kind,
            anchor: Cow::Owned(self.anchor.into_owned()),
            addresses: self.addresses,
            content: match self.content {
                PieceContent::Block(block) => PieceContent::Block(Cow::Owned(block.into_owned())),
                PieceContent::Step(step) => PieceContent::Step(Cow::Owned(step.into_owned())),
                PieceContent::Content(content) => {
                    PieceContent::Content(Cow::Owned(content.into_owned()))
                }
            },
        }
    }
}

/// What was set before, as far as it is remembered.
#[derive(Debug, Default)]
pub(super) struct Pieces {
    /// Apart by their hashes, so that threads seldom wait for one another.
    shelves: [Mutex<Shelf>; SHELVES],
}

const SHELVES: usize = 16;

/// When its pieces have as many bytes, a shelf makes room: a large shop's would not all fit. It holds
/// about twice as many at most, beside what they are found by.
const MOST_BYTES: usize = 1 << 19;

#[derive(Debug, Default)]
struct Shelf {
    /// What was set or found since `old` was all there was.
    young: IndexMap<Piece<'static>, Value, FixedState>,
    old: IndexMap<Piece<'static>, Value, FixedState>,
    /// Of the young.
    bytes: usize,
}

impl Pieces {
    /// A piece as it was set before, or as `set` sets it.
    ///
    /// # Errors
    ///
    /// Those of `set`.
    pub(super) fn get<E>(
        &self,
        piece: Piece<'_>,
        set: impl FnOnce(&Piece<'_>) -> Result<Value, E>,
    ) -> Result<Value, E> {
        let hash = FixedState::default().hash_one(&piece);
        let at = usize::try_from(hash % SHELVES as u64).unwrap_or_default();
        let open = || {
            let locked = self.shelves[at].lock();
            locked.unwrap_or_else(PoisonError::into_inner)
        };
        if let Some(found) = open().find(&piece) {
            return Ok(found);
        }
        // Others may look for theirs in the meantime.
        let html = set(&piece)?;
        open().keep(piece.into_owned(), html.clone());
        Ok(html)
    }
}

impl Shelf {
    fn find(&mut self, piece: &Piece<'_>) -> Option<Value> {
        if let Some(html) = self.young.get(piece) {
            return Some(html.clone());
        }
        let at = self.old.get_index_of(piece)?;
        let (piece, html) = self.old.swap_remove_index(at)?;
        self.keep(piece, html.clone());
        Some(html)
    }

    fn keep(&mut self, piece: Piece<'static>, html: Value) {
        if self.bytes > MOST_BYTES {
            // What nobody asked for since the last time goes.
            self.old = std::mem::take(&mut self.young);
            self.bytes = 0;
        }
        self.bytes += html.as_str().map_or(0, str::len);
        self.young.insert(piece, html);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::Run;
    use std::cell::Cell;

    fn text(text: &str, anchor: &'static str) -> Piece<'static> {
        Piece {
            component: "block",
            kind: "shop-sheet",
            anchor: Cow::Borrowed(anchor),
            addresses: PieceAddresses::default(),
            content: PieceContent::Block(Cow::Owned(Block::Text {
                runs: vec![Run::text(text)],
            })),
        }
    }

    /// How often pieces are set, each with as many bytes.
    fn set(
        pieces: &Pieces,
        asked: impl IntoIterator<Item = Piece<'static>>,
        bytes: usize,
    ) -> usize {
        let count = Cell::new(0);
        for piece in asked {
            let html = pieces.get(piece, |_| {
                count.set(count.get() + 1);
                Ok::<_, ()>(Value::safe_string(&"x".repeat(bytes)))
            });
            assert_eq!(html.map(|html| html.len()), Ok(Some(bytes)));
        }
        count.get()
    }

    #[test]
    fn a_piece_is_set_once() {
        let pieces = Pieces::default();
        let asked = [
            text("a", "here"),
            text("b", "here"),
            text("a", "here"),
            text("a", "there"),
        ];
        assert_eq!(set(&pieces, asked, 10), 3);
    }

    #[test]
    fn a_fault_is_not_remembered() {
        let pieces = Pieces::default();
        assert_eq!(
            pieces.get(text("a", "here"), |_| Err::<Value, _>(())),
            Err(())
        );
        assert_eq!(set(&pieces, [text("a", "here")], 10), 1);
    }

    #[test]
    fn what_is_asked_for_stays_and_the_rest_goes() {
        let pieces = Pieces::default();
        let many = SHELVES * 20;
        for at in 0..many {
            let asked = [text("again", "here"), text(&at.to_string(), "here")];
            let expected = if at == 0 { 2 } else { 1 };
            assert_eq!(set(&pieces, asked, MOST_BYTES / 4), expected);
        }
        let held: usize = pieces
            .shelves
            .iter()
            .map(|shelf| {
                let shelf = shelf.lock().expect("nobody panicked");
                shelf.young.len() + shelf.old.len()
            })
            .sum();
        assert!(held <= SHELVES * 12, "{held}");
        assert_eq!(set(&pieces, [text("0", "here")], 10), 1);
    }
}
