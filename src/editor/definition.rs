//! Where what a name stands for is declared, and where it is named.

use super::client::Client;
use super::name::{Name, NameKind};
use super::names::{all_of, file_of, name_at};
use super::place::{Place, location};
use crate::Sources;
use crate::finding::Span;
use lsp_types::{
    DocumentHighlight, DocumentHighlightParams, GotoDefinitionParams, GotoDefinitionResponse,
    Location, ReferenceParams,
};

/// Where the thing at a position is declared: on each machine of the procedure.
pub(super) fn definition(
    client: &Client,
    parameters: &GotoDefinitionParams,
) -> Option<GotoDefinitionResponse> {
    let place = Place::find(client, &parameters.text_document_position_params)?;
    let (sources, file) = place.opened.get()?;
    let name = name_at(sources, file, place.offset)?;
    let locations = declarations(sources, &name).into_iter();
    let locations = locations
        .filter_map(|span| location(place.opened.folder, sources, place.opened.encoding, span));
    Some(GotoDefinitionResponse::Array(locations.collect()))
}

/// The places where a name's record is declared. A procedure or a machine is declared by its file.
fn declarations(sources: &Sources, name: &Name) -> Vec<Span> {
    if name.kind == NameKind::Figure {
        // A picture has no text to go to.
        return Vec::new();
    }
    if let Some(file) = file_of(sources, name) {
        return vec![file];
    }
    let names = all_of(sources, name).into_iter();
    names
        .filter(|name| name.is_declaration)
        .map(|name| name.span)
        .collect()
}

/// The places where the thing at a position is named.
pub(super) fn references(client: &Client, parameters: &ReferenceParams) -> Option<Vec<Location>> {
    let place = Place::find(client, &parameters.text_document_position)?;
    let (sources, file) = place.opened.get()?;
    let name = name_at(sources, file, place.offset)?;
    let with_declarations = parameters.context.include_declaration;
    let names = all_of(sources, &name).into_iter();
    let spans = names.filter(|name| with_declarations || !name.is_declaration);
    let mut spans: Vec<Span> = spans.map(|name| name.span).collect();
    if with_declarations {
        spans.extend(file_of(sources, &name));
    }
    spans.sort();
    spans.dedup();
    let locations = spans
        .into_iter()
        .filter_map(|span| location(place.opened.folder, sources, place.opened.encoding, span));
    Some(locations.collect())
}

/// The places in the document where the thing at a position is named.
pub(super) fn highlights(
    client: &Client,
    parameters: &DocumentHighlightParams,
) -> Option<Vec<DocumentHighlight>> {
    let place = Place::find(client, &parameters.text_document_position_params)?;
    let (sources, file) = place.opened.get()?;
    let name = name_at(sources, file, place.offset)?;
    let lines = super::encoding::Lines::of(&file.text, place.opened.encoding);
    let names = super::names::names(sources, file).into_iter();
    let here = names.filter(|other| other.is_same(&name));
    let mut spans: Vec<Span> = here.map(|name| name.span).collect();
    spans.sort();
    spans.dedup();
    let highlights = spans.into_iter().map(|span| DocumentHighlight {
        range: lines.range(span.range()),
        kind: None,
    });
    Some(highlights.collect())
}
