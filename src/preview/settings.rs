//! The input of a preview, and the outcome of a build.

use crate::render::Look;
use crate::sheet::Summary;
use crate::{CheckedJobs, Sources};
use std::net::SocketAddr;
use std::path::PathBuf;

/// The folders that a preview reads, and the address it serves.
#[derive(Clone, Debug)]
pub(crate) struct Settings {
    /// Folder of the shop's sources.
    pub(crate) tree: PathBuf,
    /// Folder of the shop's own templates. It need not exist.
    pub(crate) templates: PathBuf,
    /// The address to serve at. Port 0 means any free port.
    pub(crate) address: SocketAddr,
}

/// Checks the sources, and decides which findings count as errors.
pub(crate) type Check<'c> = dyn for<'s> Fn(&'s Sources, &Look) -> CheckedJobs<'s, Summary<'s>> + 'c;

/// The result of one build of the pages.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// The findings, as text for a terminal.
    pub(crate) findings: String,
    /// The number of new, changed and removed files. None if errors prevented the build.
    pub(crate) changed: Option<usize>,
}
