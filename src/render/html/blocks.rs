//! Blocks of a page: pieces of markup, laid out in sections and lists.

use super::engine::{Html, fault};
use super::pieces::{Piece, PieceContent};
use super::place::{PieceAddresses, Place};
use crate::page::{Block, SheetSection, SheetStep, SheetStepContent};
use crate::render::RenderError;
use crate::render::address::{Addresses, machine_anchor, place_prefix, step_anchor, stop_anchor};
use crate::site::SitePart;
use std::borrow::Cow;
use tera::value::Key;
use tera::{Context, Map, Value};

/// A map for the templates.
fn map(entries: Vec<(&'static str, Value)>) -> Value {
    let entries = entries.into_iter();
    let map: Map = entries.map(|(key, value)| (Key::Str(key), value)).collect();
    map.into()
}

impl Html {
    /// A part of a page as the templates read it, its blocks laid out.
    pub(super) fn part(
        &self,
        part: &SitePart,
        addresses: &Addresses,
    ) -> Result<Value, RenderError> {
        let place = |prefix| Place {
            kind: "site",
            prefix,
            addresses,
        };
        Ok(match part {
            SitePart::Blocks { blocks } => map(vec![
                ("part", "blocks".into()),
                ("blocks", self.laid(blocks, place(""))?),
            ]),
            SitePart::Links { id, title, entries } => map(vec![
                ("part", "links".into()),
                ("anchor", id.to_string().into()),
                ("title", title.as_str().into()),
                ("entries", self.value(entries)?),
            ]),
            SitePart::OnMachine {
                machine,
                name,
                facts,
                links,
                blocks,
            } => map(vec![
                ("part", "on-machine".into()),
                ("anchor", machine_anchor(machine).into()),
                ("name", name.as_str().into()),
                ("facts", self.value(facts)?),
                ("links", self.value(links)?),
                ("blocks", self.laid(blocks, place(&place_prefix(machine)))?),
            ]),
        })
    }

    /// Blocks as the templates lay them out: the pieces in them as their markup.
    pub(super) fn laid(&self, blocks: &[Block], place: Place<'_>) -> Result<Value, RenderError> {
        let mut laid = Vec::with_capacity(blocks.len());
        for block in blocks {
            laid.push(match block {
                // Field by field, so that nothing that a section gets is forgotten here.
                Block::Section(SheetSection {
                    id,
                    title,
                    from,
                    blocks,
                }) => map(vec![
                    ("block", "section".into()),
                    ("anchor", format!("{}{id}", place.prefix).into()),
                    ("title", title.as_str().into()),
                    ("from", from.as_deref().into()),
                    ("blocks", self.laid(blocks, place)?),
                ]),
                Block::Steps { steps } => {
                    let Some(first) = steps.first() else { continue };
                    let markup = steps.iter().map(|step| self.step(step, place));
                    map(vec![
                        ("block", "steps".into()),
                        ("kind", place.kind.into()),
                        ("start", first.number.into()),
                        ("steps", markup.collect::<Result<Vec<_>, _>>()?.into()),
                    ])
                }
                other => self.piece(&Piece {
                    component: "block",
                    kind: place.kind,
                    anchor: match other {
                        Block::Stop(stop) => Cow::Owned(stop_anchor(place.prefix, stop.number)),
                        _ => Cow::Borrowed(""),
                    },
                    addresses: PieceAddresses::of_block(other, place),
                    content: PieceContent::Block(other),
                })?,
            });
        }
        Ok(laid.into())
    }

    fn step(&self, step: &SheetStep, place: Place<'_>) -> Result<Value, RenderError> {
        self.piece(&Piece {
            component: match place.kind {
                "bench-checklist" => "line",
                _ => "step",
            },
            kind: place.kind,
            anchor: Cow::Owned(step_anchor(place.prefix, step.number)),
            addresses: PieceAddresses::of_content(&step.content, place),
            content: PieceContent::Step(step),
        })
    }

    /// What is done in a step, wherever and under whatever number it is done.
    fn what(
        &self,
        content: &SheetStepContent,
        addresses: PieceAddresses,
    ) -> Result<Value, RenderError> {
        self.piece(&Piece {
            component: "what",
            kind: "",
            anchor: Cow::Borrowed(""),
            addresses,
            content: PieceContent::Content(content),
        })
    }

    /// A piece as it was set before, or set now.
    fn piece(&self, piece: &Piece<'_>) -> Result<Value, RenderError> {
        self.pieces.get_or_try_make(piece, || self.set(piece))
    }

    /// Sets a piece.
    fn set(&self, piece: &Piece<'_>) -> Result<Value, RenderError> {
        let mut given = Context::new();
        match &piece.content {
            PieceContent::Block(block) => {
                given.insert_value("block", self.value(block)?);
                given.insert_value("kind", piece.kind.into());
            }
            PieceContent::Step(step) => {
                given.insert_value("step", self.value(step)?);
                let what = self.what(&step.content, piece.addresses.clone())?;
                given.insert_value("what", what);
                given.insert_value("anchor", piece.anchor.as_ref().into());
            }
            PieceContent::Content(content) => given.insert_value("step", self.value(content)?),
        }
        let mut around = Context::new();
        around.insert_value("words", self.words.clone());
        around.insert("shared", &self.shared);
        around.insert("links", &piece.addresses.links);
        around.insert("anchors", &piece.addresses.anchors);
        around.insert("figures", &piece.addresses.figures);
        around.insert_value("anchor", piece.anchor.as_ref().into());
        let component = piece.component;
        self.tera
            .render_component_with_implicits(component, &given, &around, None, true)
            .map(|html| Value::safe_string(&html))
            .map_err(|error| match fault(&error, &self.look) {
                // Of what it is handed, the engine says no file.
                RenderError::Template { why } if !why.contains(".html") => RenderError::Template {
                    why: format!("`{component}`: {why}"),
                },
                error => error,
            })
    }
}
