//! A tree that is being written becomes pages in a browser that follow it.
//!
//! Comes in: the folders of a tree and of a shop's own templates, an address of
//! this machine, and how a tree is checked. Goes out: a server of the HTML
//! pages, made anew whenever a source changes, with what was found laid over
//! them. While there are errors, the pages stay as they were.
//!
//! It never writes to a shop's output and sets no PDF: its pages stand in a
//! folder of its own, which goes with it. It serves no file but those in that
//! folder, and takes nothing from a browser but the path that is asked for.

mod board;
mod build;
mod frame;
mod place;
mod request;
mod server;
mod watch;

use crate::render::Look;
use crate::sheet::Summary;
use crate::{Checked, Sources};
use board::Board;
use server::Server;
use std::fmt;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::path::PathBuf;
use std::sync::Arc;
use tempfile::TempDir;
use watch::{Signal, Watch};

/// What is shown, and where.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Folder of the shop's sources.
    pub tree: PathBuf,
    /// Folder of the shop's own templates; there need be none.
    pub templates: PathBuf,
    /// Where to serve; port 0 takes a free one.
    pub address: SocketAddr,
}

/// How a tree is checked, and which findings count as errors.
pub type Check<'c> = dyn for<'s> Fn(&'s Sources, &Look) -> Checked<'s, Summary<'s>> + 'c;

/// A server of a tree's pages, and the watch on its sources.
///
/// It serves from the moment it is there; pages are made by who goes through it.
pub struct Preview<'c> {
    settings: Settings,
    check: &'c Check<'c>,
    watch: Watch,
    board: Arc<Board>,
    server: Server,
    /// Before the first turn, which makes the pages at once.
    is_new: bool,
    // Last, so that the pages go when nobody serves them any more.
    folder: TempDir,
}

impl fmt::Debug for Preview<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Preview")
            .field("settings", &self.settings)
            .finish_non_exhaustive()
    }
}

/// Why there can be no preview.
#[derive(Debug)]
pub enum PreviewError {
    /// Somebody else serves at this address.
    Taken(SocketAddr),
    /// Nothing can be served at this address.
    Address(SocketAddr, io::Error),
    /// There is no room for the pages.
    Folder(io::Error),
    /// Changes can't be noticed.
    Watch(String),
}

impl fmt::Display for PreviewError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PreviewError::Taken(address) => {
                write!(f, "port {} of {} is taken", address.port(), address.ip())
            }
            PreviewError::Address(address, why) => write!(f, "can't serve at {address}: {why}"),
            PreviewError::Folder(why) => write!(f, "can't make a folder for the pages: {why}"),
            PreviewError::Watch(why) => write!(f, "can't watch for changes: {why}"),
        }
    }
}

impl std::error::Error for PreviewError {}

/// What became of making the pages.
#[derive(Debug)]
pub struct Outcome {
    /// What was found, as it is shown on a terminal.
    pub findings: String,
    /// How many files are new, changed or gone; none where nothing was made for errors.
    pub changed: Option<usize>,
}

/// Ends a preview from outside.
#[derive(Clone, Debug)]
pub struct Stopper(std::sync::mpsc::Sender<Signal>);

impl Stopper {
    /// Lets the preview come to its end.
    pub fn stop(&self) {
        // Where nobody listens any more, it has ended already.
        let _ = self.0.send(Signal::Stop);
    }
}

impl<'c> Preview<'c> {
    /// Takes the address and begins to watch; there are no pages yet.
    ///
    /// # Errors
    ///
    /// When the address is taken or not this machine's, or changes can't be noticed.
    pub fn open(settings: Settings, check: &'c Check<'c>) -> Result<Preview<'c>, PreviewError> {
        let address = settings.address;
        let listener = TcpListener::bind(address).map_err(|why| match why.kind() {
            io::ErrorKind::AddrInUse => PreviewError::Taken(address),
            _ => PreviewError::Address(address, why),
        })?;
        let folder = tempfile::Builder::new()
            .prefix("benchleaf-preview-")
            .tempdir()
            .map_err(PreviewError::Folder)?;
        let watch = Watch::new([settings.tree.clone(), settings.templates.clone()])
            .map_err(|why| PreviewError::Watch(why.to_string()))?;
        let board = Arc::new(Board::new(folder.path()).map_err(PreviewError::Folder)?);
        let server = Server::start(listener, Arc::clone(&board))
            .map_err(|why| PreviewError::Address(address, why))?;
        Ok(Preview {
            settings,
            check,
            watch,
            board,
            server,
            is_new: true,
            folder,
        })
    }

    /// Where it serves.
    #[must_use]
    pub fn address(&self) -> SocketAddr {
        self.server.address()
    }

    /// What ends it.
    #[must_use]
    pub fn stopper(&self) -> Stopper {
        Stopper(self.watch.sender())
    }
}

impl Iterator for Preview<'_> {
    type Item = Outcome;

    /// Waits for a change, the first time for none, makes the pages and shows them; none when it was
    /// stopped.
    fn next(&mut self) -> Option<Outcome> {
        if !self.is_new && !self.watch.wait() {
            return None;
        }
        self.is_new = false;
        let mut built = build::build(&self.settings, self.check, self.folder.path());
        built.trouble.extend(self.watch.faults());
        Some(self.board.show(built))
    }
}
