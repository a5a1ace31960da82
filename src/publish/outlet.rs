//! Where pages are written, what makes the PDFs, and who is told of progress.

use crate::render::{Look, Typst, TypstError};
use std::fmt;
use std::path::Path;

/// The program that makes PDFs.
#[derive(Debug)]
pub(crate) enum Pdfs {
    /// This program.
    With(Typst),
    /// None, for this reason, which becomes a finding.
    Without(TypstError),
    /// PDFs are not asked for.
    NotAsked,
}

/// Receives how many pages are made, of how many.
pub(crate) trait Progress: Sync {
    /// The run will make this many pages.
    fn expect(&self, pages: usize);
    /// One more page is made.
    fn made(&self);
    /// The previous stage has ended and this one begins. Only a listener that takes times needs it.
    fn begins(&self, stage: &'static str) {
        let _ = stage;
    }
}

/// Where a run writes, with what, and who is told of its progress.
#[derive(Clone, Copy)]
pub(crate) struct Outlet<'o> {
    /// The shop's own look.
    pub(crate) look: &'o Look,
    /// What PDFs are made with.
    pub(crate) pdfs: &'o Pdfs,
    /// The output folder.
    pub(crate) folder: &'o Path,
    /// Told of progress.
    pub(crate) progress: &'o dyn Progress,
}

impl fmt::Debug for Outlet<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Outlet").finish_non_exhaustive()
    }
}
