//! The position of a piece of a page, and the addresses of its link targets and figures.

use crate::page::{Block, Cell, Figure, LinkTarget, SheetStepContent, visit_block, visit_content};
use crate::render::address::{Addresses, entry_anchor, figure_anchor};
use serde::Serialize;
use std::collections::BTreeMap;

/// The page that blocks are rendered for.
#[derive(Clone, Copy)]
pub(super) struct Place<'p> {
    /// The kind of page. The layout of a piece can depend on it.
    pub(super) kind: &'static str,
    pub(super) addresses: &'p Addresses,
}

/// The addresses of the link targets and figures in a piece, and the anchors that it defines.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct PieceAddresses {
    /// The address of each link target by its name. Empty if the target can't be linked to.
    pub(super) links: BTreeMap<String, String>,
    /// The anchors of items whose entry is in this piece, by the targets' names.
    pub(super) anchors: BTreeMap<String, String>,
    /// By the figures' ids.
    pub(super) figures: BTreeMap<String, PlacedFigure>,
}

/// A figure on a page.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize)]
pub(super) struct PlacedFigure {
    /// The address of the image file.
    address: String,
    anchor: String,
}

impl PieceAddresses {
    pub(super) fn of_block(block: &Block, place: Place<'_>) -> PieceAddresses {
        let mut addresses = PieceAddresses::default();
        let mut add_anchor = |target: &LinkTarget| {
            if let Some(anchor) = entry_anchor(target) {
                addresses.anchors.insert(target.name(), anchor);
            }
        };
        match block {
            Block::Safety(message) => message.place.iter().for_each(&mut add_anchor),
            Block::Table(table) => {
                for cell in table.rows.iter().flatten() {
                    if let Cell::Place { place, .. } = cell {
                        add_anchor(place);
                    }
                }
            }
            _ => {}
        }
        let (links, figures) = (&mut addresses.links, &mut addresses.figures);
        visit_block(
            block,
            &mut |target| add_link(links, target, place),
            &mut |figure| add_figure(figures, figure, place),
        );
        addresses
    }

    pub(super) fn of_content(content: &SheetStepContent, place: Place<'_>) -> PieceAddresses {
        let mut addresses = PieceAddresses::default();
        let (links, figures) = (&mut addresses.links, &mut addresses.figures);
        visit_content(
            content,
            &mut |target| add_link(links, target, place),
            &mut |figure| add_figure(figures, figure, place),
        );
        addresses
    }
}

fn add_link(links: &mut BTreeMap<String, String>, target: &LinkTarget, place: Place<'_>) {
    let name = target.name();
    let address = place.addresses.links.get(&name).cloned();
    links.insert(name, address.unwrap_or_default());
}

fn add_figure(figures: &mut BTreeMap<String, PlacedFigure>, figure: &Figure, place: Place<'_>) {
    let address = place.addresses.figures.get(&figure.id.0).cloned();
    let placed = PlacedFigure {
        address: address.unwrap_or_default(),
        anchor: figure_anchor(figure.number),
    };
    figures.insert(figure.id.0.clone(), placed);
}
