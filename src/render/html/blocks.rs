//! Converts blocks of a page to template values. Sections and lists stay structured; their pieces are
//! rendered as markup.

use super::engine::{Html, template_error};
use super::pieces::{Piece, PieceContent};
use super::place::{PieceAddresses, Place};
use crate::page::{Block, SheetSection, SheetStep, SheetStepContent};
use crate::render::RenderError;
use crate::render::address::{Addresses, step_anchor, stop_anchor};
use crate::site::SitePart;
use std::borrow::Cow;
use tera::value::Key;
use tera::{Context, Map, Value};

/// Builds a map for the templates.
fn map(entries: Vec<(&'static str, Value)>) -> Value {
    let entries = entries.into_iter();
    let map: Map = entries.map(|(key, value)| (Key::Str(key), value)).collect();
    map.into()
}

impl Html {
    /// Converts a part of a page of the site.
    pub(super) fn part(
        &self,
        part: &SitePart,
        addresses: &Addresses,
    ) -> Result<Value, RenderError> {
        let place = Place {
            kind: "site",
            addresses,
        };
        Ok(match part {
            SitePart::Blocks { blocks } => map(vec![
                ("part", "blocks".into()),
                ("blocks", self.blocks(blocks, place)?),
            ]),
            SitePart::Links {
                id,
                title,
                style,
                entries,
            } => map(vec![
                ("part", "links".into()),
                ("anchor", id.to_string().into()),
                ("title", title.as_str().into()),
                ("style", self.value(style)?),
                ("entries", self.value(entries)?),
            ]),
            SitePart::Values { id, title, values } => map(vec![
                ("part", "values".into()),
                ("anchor", id.to_string().into()),
                ("title", title.as_str().into()),
                ("values", self.value(values)?),
            ]),
            SitePart::OpenJobs => map(vec![("part", "open-jobs".into())]),
        })
    }

    /// Converts blocks.
    pub(super) fn blocks(&self, blocks: &[Block], place: Place<'_>) -> Result<Value, RenderError> {
        let mut values = Vec::with_capacity(blocks.len());
        for block in blocks {
            values.push(match block {
                // Lists all fields, so that a new field of a section can't be forgotten here.
                Block::Section(SheetSection {
                    id,
                    title,
                    from,
                    blocks,
                }) => map(vec![
                    ("block", "section".into()),
                    ("anchor", id.to_string().into()),
                    ("title", title.as_str().into()),
                    ("from", from.as_deref().into()),
                    ("blocks", self.blocks(blocks, place)?),
                ]),
                Block::Steps { steps } => {
                    let Some(first) = steps.first() else { continue };
                    let markup = steps.iter().map(|step| self.step(step, place));
                    map(vec![
                        ("block", "steps".into()),
                        ("kind", place.kind.into()),
                        ("start", first.number.into()),
                        ("initials", steps.iter().any(|step| step.initials).into()),
                        ("steps", markup.collect::<Result<Vec<_>, _>>()?.into()),
                    ])
                }
                block => self.piece(&Piece {
                    component: "block",
                    kind: place.kind,
                    anchor: match block {
                        Block::Stop(stop) => Cow::Owned(stop_anchor(stop.number)),
                        _ => Cow::Borrowed(""),
                    },
                    addresses: PieceAddresses::of_block(block, place),
                    content: PieceContent::Block(block),
                })?,
            });
        }
        Ok(values.into())
    }

    fn step(&self, step: &SheetStep, place: Place<'_>) -> Result<Value, RenderError> {
        self.piece(&Piece {
            component: match place.kind {
                "bench-checklist" => "line",
                _ => "step",
            },
            kind: place.kind,
            anchor: Cow::Owned(step_anchor(step.number)),
            addresses: PieceAddresses::of_content(&step.content, place),
            content: PieceContent::Step(step),
        })
    }

    /// The content of a step. It does not depend on the page or the step's number, so that the cache can
    /// share it.
    fn step_content(
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

    /// The markup of a piece, from the cache if it is there.
    fn piece(&self, piece: &Piece<'_>) -> Result<Value, RenderError> {
        self.pieces
            .get_or_try_make(piece, || self.render_piece(piece))
    }

    fn render_piece(&self, piece: &Piece<'_>) -> Result<Value, RenderError> {
        let mut arguments = Context::new();
        match &piece.content {
            PieceContent::Block(block) => {
                arguments.insert_value("block", self.value(block)?);
                arguments.insert_value("kind", piece.kind.into());
            }
            PieceContent::Step(step) => {
                arguments.insert_value("step", self.value(step)?);
                let content = self.step_content(&step.content, piece.addresses.clone())?;
                arguments.insert_value("what", content);
                arguments.insert_value("anchor", piece.anchor.as_ref().into());
            }
            PieceContent::Content(content) => arguments.insert_value("step", self.value(content)?),
        }
        let mut implicits = Context::new();
        implicits.insert_value("words", self.words.clone());
        implicits.insert_value("shared", self.shared.clone());
        implicits.insert("links", &piece.addresses.links);
        implicits.insert("anchors", &piece.addresses.anchors);
        implicits.insert("figures", &piece.addresses.figures);
        implicits.insert_value("anchor", piece.anchor.as_ref().into());
        let component = piece.component;
        self.tera
            .render_component_with_implicits(component, &arguments, &implicits, None, true)
            .map(|html| Value::safe_string(&html))
            .map_err(|error| match template_error(&error, &self.look) {
                // The engine names no file if the error is in a component's arguments.
                RenderError::Template { message } if !message.contains(".html") => {
                    RenderError::Template {
                        message: format!("`{component}`: {message}"),
                    }
                }
                error => error,
            })
    }
}
