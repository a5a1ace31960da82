//! Where a piece of a page is, and what it has in the place of its targets and figures.

use crate::page::{Block, Cell, Figure, LinkTarget, SheetStepContent, visit_block, visit_content};
use crate::render::address::{Addresses, entry_anchor, figure_anchor};
use serde::Serialize;
use std::collections::BTreeMap;

/// What blocks are laid out for.
#[derive(Clone, Copy)]
pub(super) struct Place<'p> {
    /// The kind of page, which has a say in how a piece looks.
    pub(super) kind: &'static str,
    /// What the anchors of places begin with.
    pub(super) prefix: &'p str,
    /// The addresses of the page.
    pub(super) addresses: &'p Addresses,
}

/// What a piece has in the place of its targets and figures.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct PieceAddresses {
    /// The addresses of targets, by their names.
    pub(super) links: BTreeMap<String, String>,
    /// The anchors of things whose place this is, by the targets' names.
    pub(super) anchors: BTreeMap<String, String>,
    /// Figures, by their ids.
    pub(super) figures: BTreeMap<String, PlacedFigure>,
}

/// A figure on a page.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub(super) struct PlacedFigure {
    /// The address of the picture.
    address: String,
    anchor: String,
}

impl PieceAddresses {
    pub(super) fn of_block(block: &Block, place: Place<'_>) -> PieceAddresses {
        let mut own = PieceAddresses::default();
        let mut entry = |target: &LinkTarget| {
            if let Some(anchor) = entry_anchor(target) {
                own.anchors.insert(target.to_string(), anchor);
            }
        };
        match block {
            Block::Safety(message) => message.place.iter().for_each(&mut entry),
            Block::Table(table) => {
                for cell in table.rows.iter().flatten() {
                    if let Cell::Place { place, .. } = cell {
                        entry(place);
                    }
                }
            }
            _ => {}
        }
        let (links, figures) = (&mut own.links, &mut own.figures);
        visit_block(
            block,
            &mut |target| link(links, target, place),
            &mut |figure| picture(figures, figure, place),
        );
        own
    }

    pub(super) fn of_content(content: &SheetStepContent, place: Place<'_>) -> PieceAddresses {
        let mut own = PieceAddresses::default();
        let (links, figures) = (&mut own.links, &mut own.figures);
        visit_content(
            content,
            &mut |target| link(links, target, place),
            &mut |figure| picture(figures, figure, place),
        );
        own
    }
}

fn link(links: &mut BTreeMap<String, String>, target: &LinkTarget, place: Place<'_>) {
    let name = target.to_string();
    let address = place.addresses.links.get(&name).cloned();
    links.insert(name, address.unwrap_or_default());
}

fn picture(figures: &mut BTreeMap<String, PlacedFigure>, figure: &Figure, place: Place<'_>) {
    let address = place.addresses.figures.get(&figure.id.0).cloned();
    let placed = PlacedFigure {
        address: address.unwrap_or_default(),
        anchor: figure_anchor(place.prefix, figure.number),
    };
    figures.insert(figure.id.0.clone(), placed);
}
