//! What a caller gives a preview, and what it gets back.

use crate::render::Look;
use crate::sheet::Summary;
use crate::{Checked, Sources};
use std::net::SocketAddr;
use std::path::PathBuf;

/// The folders that a preview reads, and the address it serves.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Folder of the shop's sources.
    pub tree: PathBuf,
    /// Folder of the shop's own templates. It need not exist.
    pub templates: PathBuf,
    /// The address to serve at. Port 0 means any free port.
    pub address: SocketAddr,
}

/// Checks the sources, and decides which findings count as errors.
pub type Check<'c> = dyn for<'s> Fn(&'s Sources, &Look) -> Checked<'s, Summary<'s>> + 'c;

/// The result of one build of the pages.
#[derive(Debug)]
pub struct Outcome {
    /// The findings, as text for a terminal.
    pub findings: String,
    /// The number of new, changed and removed files. None when errors prevented the build.
    pub changed: Option<usize>,
}
