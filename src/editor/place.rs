//! The place in a document that a request is about.

use super::client::Client;
use super::encoding::{Encoding, Lines};
use super::shop_folder::{ShopFolder, SourcesGuard};
use crate::Sources;
use crate::finding::Span;
use crate::tree::Source;
use lsp_types::{Location, Position, TextDocumentPositionParams, Uri};

/// A document of a sources folder, with the sources as they are now.
pub(super) struct Opened<'c> {
    pub(super) folder: &'c ShopFolder,
    guard: SourcesGuard<'c>,
    path: String,
    pub(super) encoding: Encoding,
}

impl<'c> Opened<'c> {
    /// `None` if the document is in no sources folder, or can't be read yet.
    pub(super) fn find(client: &'c Client, uri: &Uri) -> Option<Opened<'c>> {
        let (folder, path) = client.workspace.find(uri)?;
        folder.wait_until_read();
        let guard = folder.sources();
        guard.get()?.tree.source(&path)?;
        Some(Opened {
            folder,
            guard,
            path,
            encoding: client.workspace.encoding,
        })
    }

    /// The sources and the document's file.
    pub(super) fn get(&self) -> Option<(&Sources, &Source)> {
        let sources = self.guard.get()?;
        Some((sources, sources.tree.source(&self.path)?))
    }
}

/// A document, and a byte in it.
pub(super) struct Place<'c> {
    pub(super) opened: Opened<'c>,
    pub(super) offset: usize,
}

impl<'c> Place<'c> {
    pub(super) fn find(
        client: &'c Client,
        place: &TextDocumentPositionParams,
    ) -> Option<Place<'c>> {
        Place::of(client, &place.text_document.uri, place.position)
    }

    fn of(client: &'c Client, uri: &Uri, position: Position) -> Option<Place<'c>> {
        let opened = Opened::find(client, uri)?;
        let (_, file) = opened.get()?;
        let offset = Lines::of(&file.text, opened.encoding).offset(position);
        Some(Place { opened, offset })
    }
}

/// The location of a span. `None` if its file has no address.
pub(super) fn location(
    folder: &ShopFolder,
    sources: &Sources,
    encoding: Encoding,
    span: Span,
) -> Option<Location> {
    let file = sources.tree.file(span.file);
    Some(Location {
        uri: folder.uri(&file.path)?,
        range: Lines::of(&file.text, encoding).range(span.range()),
    })
}
