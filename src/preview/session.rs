//! A running preview: builds the pages whenever a source changes.

use super::build::build;
use super::server::Server;
use super::settings::{Check, Outcome, Settings};
use super::shared::SharedState;
use super::watch::{Signal, Watch};
use crate::output::TemporaryFolder;
use std::fmt;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::sync::Arc;
use std::sync::mpsc::Sender;

/// A server of a tree's pages, with a watch on the sources.
///
/// It serves as soon as it is opened. Iterating builds the pages: each item is the outcome of a build.
pub(crate) struct Preview<'c> {
    settings: Settings,
    check: &'c Check<'c>,
    watch: Watch,
    shared: Arc<SharedState>,
    server: Server,
    /// Whether the first build has not been made yet. It does not wait for a change.
    is_new: bool,
    // Must be the last field, so that the folder is removed after the server has stopped.
    folder: TemporaryFolder,
}

impl fmt::Debug for Preview<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Preview")
            .field("settings", &self.settings)
            .finish_non_exhaustive()
    }
}

/// Why a preview can't be opened.
#[derive(Debug)]
pub(crate) enum PreviewError {
    /// Another program uses this address.
    Taken(SocketAddr),
    Address(SocketAddr, io::Error),
    /// The temporary folder for the pages can't be created.
    Folder(io::Error),
    /// The folders can't be watched.
    Watch(String),
}

impl fmt::Display for PreviewError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PreviewError::Taken(address) => {
                write!(f, "port {} of {} is taken", address.port(), address.ip())
            }
            PreviewError::Address(address, error) => {
                write!(f, "can't serve at {address}: {error}")
            }
            PreviewError::Folder(error) => write!(f, "can't make a folder for the pages: {error}"),
            PreviewError::Watch(error) => write!(f, "can't watch for changes: {error}"),
        }
    }
}

impl std::error::Error for PreviewError {}

/// Ends a preview from another thread.
#[derive(Clone, Debug)]
pub(crate) struct Stopper(Sender<Signal>);

impl Stopper {
    /// Ends the preview. A build that is running still becomes the last item.
    pub(crate) fn stop(&self) {
        // An error means that the preview has ended already.
        let _ = self.0.send(Signal::Stop);
    }
}

impl<'c> Preview<'c> {
    /// Binds the address and starts to watch. Builds no pages yet.
    ///
    /// # Errors
    ///
    /// If the address is in use or does not belong to this machine, if the temporary folder can't be
    /// created, or if the folders can't be watched.
    pub(crate) fn open(
        settings: Settings,
        check: &'c Check<'c>,
    ) -> Result<Preview<'c>, PreviewError> {
        let address = settings.address;
        let listener = TcpListener::bind(address).map_err(|error| match error.kind() {
            io::ErrorKind::AddrInUse => PreviewError::Taken(address),
            _ => PreviewError::Address(address, error),
        })?;
        let folder = TemporaryFolder::new("preview").map_err(PreviewError::Folder)?;
        let watch = Watch::new([settings.tree.clone(), settings.templates.clone()])
            .map_err(|error| PreviewError::Watch(error.to_string()))?;
        let shared = Arc::new(SharedState::new(folder.path()).map_err(PreviewError::Folder)?);
        let server = Server::start(listener, Arc::clone(&shared))
            .map_err(|error| PreviewError::Address(address, error))?;
        Ok(Preview {
            settings,
            check,
            watch,
            shared,
            server,
            is_new: true,
            folder,
        })
    }

    /// The bound address. If the settings have port 0, it has the actual port.
    #[must_use]
    pub(crate) fn address(&self) -> SocketAddr {
        self.server.address()
    }

    /// A handle that ends this preview.
    #[must_use]
    pub(crate) fn stopper(&self) -> Stopper {
        Stopper(self.watch.sender())
    }
}

impl Iterator for Preview<'_> {
    type Item = Outcome;

    /// Waits for a change, except before the first build, and builds the pages. None after
    /// [`Stopper::stop`].
    fn next(&mut self) -> Option<Outcome> {
        if !self.is_new && !self.watch.wait() {
            return None;
        }
        self.is_new = false;
        let mut result = build(&self.settings, self.check, self.folder.path());
        result.failures.extend(self.watch.failures());
        Some(self.shared.set(result))
    }
}
