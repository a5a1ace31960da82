//! From a document to the page: HTML by tera, PDF by typst.
//!
//! **In**: a [`Sheet`](crate::page::Sheet), a [`Page`](crate::site::Page) that leads to
//! sheets, or a [`Manual`](crate::manual::Manual). **Out**: the text of an HTML page, or the
//! bytes of a PDF. Where pages are and what a link's target is in each medium is decided here
//! (`address.rs`). It never reads a shop's sources, never decides what a page says, never
//! writes to the output folder and never prints.
//!
//! Both media read the same data, under the same names, and every word that is the
//! page's own rather than the shop's reaches the templates as
//! data, so that a template holds layout and nothing else. The templates
//! stand in `templates/`, a piece for each kind of block, and are built into
//! the program.
//!
//! A text of a shop's is never markup here: tera escapes all of it, and typst
//! reads it as JSON strings, which it sets as they are.
//!
//! The same sheet gives the same bytes, on any machine and on any day: the
//! typesetter sees our fonts only, none of its environment variables, and the
//! day of the sheet's revision in place of today.

mod address;
mod html;
mod look;
mod qr;
mod runner;
#[cfg(test)]
mod sample;
mod search;
mod templates;
mod typst;

use std::fmt;
use std::io;
use std::path::PathBuf;

pub(crate) use address::figure_path;
pub(crate) use address::{Addresses, Paths};
pub(crate) use html::Html;
pub(crate) use html::script_text;
pub(crate) use look::Look;
pub(crate) use runner::TypstRunner;
pub(crate) use search::search_file;
pub(crate) use typst::{Typst, TypstError};

/// Why a sheet could not be rendered.
#[derive(Debug)]
pub(crate) enum RenderError {
    /// A page template has a fault, or meets a sheet that it has no piece for.
    Template {
        /// The template engine's account of it, with file and line.
        why: String,
    },
    /// A sheet could not be serialised.
    Leaf {
        /// Its path in the output, without an ending.
        leaf: String,
        /// The serialiser's account of it.
        why: serde_json::Error,
    },
    /// A figure's path would lead out of the work folder.
    FigurePath {
        /// The path as it was given.
        path: String,
    },
    /// A file of the work folder could not be written, or typst not started.
    Io {
        /// What was to be written or started.
        path: PathBuf,
        /// The system's account of it.
        why: io::Error,
    },
    /// A sheet has letters that none of our fonts has. PDF/UA allows no
    /// stand-in for them.
    Letters {
        /// Its path in the output, without an ending.
        leaf: String,
        /// The stretches of text with such letters, each once.
        texts: Vec<String>,
    },
    /// Typst could not set the sheet.
    Setting {
        /// Its path in the output, without an ending.
        leaf: String,
        /// All that typst said.
        said: String,
    },
}

impl fmt::Display for RenderError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            RenderError::Template { why } => write!(f, "a page template has a fault: {why}"),
            RenderError::Leaf { leaf, why } => {
                write!(f, "the leaf `{leaf}` could not be handed to typst: {why}")
            }
            RenderError::FigurePath { path } => {
                write!(f, "the figure `{path}` does not stand in the output folder")
            }
            RenderError::Io { path, why } => write!(f, "`{}`: {why}", path.display()),
            RenderError::Letters { leaf, texts } => {
                write!(
                    f,
                    "the leaf `{leaf}` has letters that the PDF's fonts lack: "
                )?;
                for (place, text) in texts.iter().enumerate() {
                    let comma = if place > 0 { ", " } else { "" };
                    write!(f, "{comma}`{text}`")?;
                }
                Ok(())
            }
            RenderError::Setting { leaf, said } => {
                write!(f, "typst could not set the leaf `{leaf}`: {}", said.trim())
            }
        }
    }
}

impl std::error::Error for RenderError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            RenderError::Leaf { why, .. } => Some(why),
            RenderError::Io { why, .. } => Some(why),
            RenderError::Template { .. }
            | RenderError::FigurePath { .. }
            | RenderError::Letters { .. }
            | RenderError::Setting { .. } => None,
        }
    }
}
