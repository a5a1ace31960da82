//! Renders documents: HTML with tera, PDF with typst.
//!
//! **In**: a [`Sheet`](crate::page::Sheet), a [`SitePage`](crate::site::SitePage) that links to
//! sheets, or a [`Manual`](crate::manual::Manual). **Out**: the text of an HTML page, or the
//! bytes of a PDF. This stage decides the paths of pages and the addresses of links (`address.rs`).
//! It never reads a shop's sources, never decides what a page says, never writes to the output folder
//! and never prints.
//!
//! Both media read the same data, under the same names. Labels are data too, so that a template has
//! only layout. The templates are in `templates/`, one for each kind of block, and are built into the
//! program.
//!
//! A shop's text never becomes markup: tera escapes it, and typst reads it as JSON strings, which it
//! sets verbatim.
//!
//! Rendering is reproducible: the same sheet gives the same bytes on any machine and on any day. Typst
//! uses only our fonts and none of its environment variables, and dates the PDF with the sheet's
//! revision.

mod address;
mod html;
mod look;
mod marked;
pub(crate) mod offline;
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
pub(crate) use address::{Addresses, Paths, rule_address};
pub(crate) use html::Html;
pub(crate) use html::script_text;
pub(crate) use look::Look;
pub(crate) use runner::{TypstRunner, end_processes};
pub(crate) use search::search_file;
pub(crate) use typst::{Typst, TypstError};

/// Why a sheet could not be rendered.
#[derive(Debug)]
pub(crate) enum RenderError {
    /// A template has an error, or lacks a component for something on the page.
    Template {
        /// The template engine's message, with file and line.
        message: String,
    },
    /// A sheet could not be serialised.
    Sheet {
        /// The sheet's path in the output, without extension.
        sheet: String,
        error: serde_json::Error,
    },
    /// A figure's path leaves the work folder.
    FigurePath { path: String },
    /// A file of the work folder could not be written, or typst could not be started.
    Io {
        /// The file or program.
        path: PathBuf,
        error: io::Error,
    },
    /// A sheet has characters that none of our fonts has. PDF/UA allows no replacement glyph.
    Letters {
        /// The sheet's path in the output, without extension.
        sheet: String,
        /// The texts with such characters, without duplicates.
        texts: Vec<String>,
    },
    /// Typst did not finish within its limits.
    OverLimit {
        /// The sheet's path in the output, without extension.
        sheet: String,
        /// The limit: "300 s", "4096 MiB of memory".
        limit: String,
    },
    /// Typst could not compile the sheet.
    Setting {
        /// The sheet's path in the output, without extension.
        sheet: String,
        /// Typst's messages.
        messages: String,
    },
}

impl fmt::Display for RenderError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            RenderError::Template { message } => {
                write!(f, "a page template has an error: {message}")
            }
            RenderError::Sheet { sheet, error } => {
                write!(
                    f,
                    "the sheet `{sheet}` could not be passed to typst: {error}"
                )
            }
            RenderError::FigurePath { path } => {
                write!(f, "the figure `{path}` is not in the output folder")
            }
            RenderError::Io { path, error } => write!(f, "`{}`: {error}", path.display()),
            RenderError::Letters { sheet, texts } => {
                write!(
                    f,
                    "the sheet `{sheet}` has letters that the PDF's fonts lack: "
                )?;
                for (index, text) in texts.iter().enumerate() {
                    let comma = if index > 0 { ", " } else { "" };
                    write!(f, "{comma}`{text}`")?;
                }
                Ok(())
            }
            RenderError::OverLimit { sheet, limit } => write!(
                f,
                "the sheet `{sheet}` is too large for a PDF: typst needs more than {limit}"
            ),
            RenderError::Setting { sheet, messages } => {
                write!(
                    f,
                    "typst could not make the sheet `{sheet}`: {}",
                    messages.trim()
                )
            }
        }
    }
}

impl std::error::Error for RenderError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            RenderError::Sheet { error, .. } => Some(error),
            RenderError::Io { error, .. } => Some(error),
            RenderError::Template { .. }
            | RenderError::FigurePath { .. }
            | RenderError::Letters { .. }
            | RenderError::OverLimit { .. }
            | RenderError::Setting { .. } => None,
        }
    }
}
