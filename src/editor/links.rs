//! The links of a document to other files: procedures, fault tables, machines and figures.

use super::client::Client;
use super::encoding::Lines;
use super::name::NameKind;
use super::names::{file_of, names};
use super::place::Opened;
use lsp_types::{DocumentLink, DocumentLinkParams};

pub(super) fn document_links(
    client: &Client,
    parameters: &DocumentLinkParams,
) -> Option<Vec<DocumentLink>> {
    let opened = Opened::find(client, &parameters.text_document.uri)?;
    let (sources, file) = opened.get()?;
    let lines = Lines::of(&file.text, opened.encoding);
    let found = names(sources, file).into_iter().filter_map(|name| {
        let path = match name.kind {
            NameKind::Figure => name.key.as_str(),
            _ => &sources.tree.file(file_of(sources, &name)?.file).path,
        };
        Some(DocumentLink {
            range: lines.range(name.span.range()),
            target: Some(opened.folder.uri(path)?),
            tooltip: client.abilities.shows_tooltips.then(|| path.to_owned()),
            data: None,
        })
    });
    Some(found.collect())
}
