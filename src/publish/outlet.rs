//! The destination of a run: the output folder, the typesetter, the look, and the progress listener.

use crate::output::OutputSettings;
use crate::render::{Look, Typst, TypstError};
use crate::tree::World;
use std::fmt;
use std::path::Path;

/// How PDFs are made, or why they are not.
#[derive(Debug)]
pub(crate) enum Pdfs {
    /// With this program.
    With(Typst),
    /// No program was found, for this reason. Then a run makes nothing.
    Without(TypstError),
    /// The user asked for no PDFs.
    NotAsked,
}

/// Receives the progress of a run.
pub(crate) trait Progress: Sync {
    /// Called once, with the number of pages to come.
    fn set_total(&self, pages: usize);
    /// Called after each page, made or kept.
    fn page_done(&self);
    /// Called when a stage begins; the previous stage has then ended. Needed only to measure durations.
    fn begin_stage(&self, stage: &'static str) {
        let _ = stage;
    }
}

/// Where a run writes, and what it uses to make pages.
#[derive(Clone, Copy)]
pub(crate) struct Outlet<'o> {
    pub(crate) look: &'o Look,
    pub(crate) pdfs: &'o Pdfs,
    /// The output folder.
    pub(crate) folder: &'o Path,
    pub(crate) settings: OutputSettings,
    /// Where the sources were read from. If they have changed since then, nothing is moved into the output. None if this
    /// does not matter.
    pub(crate) world: Option<&'o dyn World>,
    pub(crate) progress: &'o dyn Progress,
}

impl fmt::Debug for Outlet<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Outlet").finish_non_exhaustive()
    }
}
