//! Where pages go, what PDFs are made with, and who is told of progress.

use crate::render::{Look, Typst, TypstError};
use std::fmt;
use std::path::Path;

/// What PDFs are made with.
#[derive(Debug)]
pub enum Pdfs {
    /// This program.
    With(Typst),
    /// Nothing, for this reason: a finding.
    Without(TypstError),
    /// They are not asked for.
    NotAsked,
}

/// Told of progress: how many pages are made, of how many.
pub trait Progress: Sync {
    /// That many pages will be made.
    fn expect(&self, pages: usize);
    /// One more is made.
    fn made(&self);
    /// What was done up to now is over, and this begins: for whoever times it.
    fn begins(&self, stage: &'static str) {
        let _ = stage;
    }
}

/// Where to, with what, and who is told.
#[derive(Clone, Copy)]
pub struct Outlet<'o> {
    /// The shop's own look.
    pub look: &'o Look,
    /// What PDFs are made with.
    pub pdfs: &'o Pdfs,
    /// The output folder.
    pub folder: &'o Path,
    /// Told of progress.
    pub progress: &'o dyn Progress,
}

impl fmt::Debug for Outlet<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Outlet").finish_non_exhaustive()
    }
}
