//! Serves the pages of a tree while it is being edited.
//!
//! In: the folders of a tree and of a shop's own templates, a local address, and
//! a function that checks the tree. Out: a server of the HTML pages. They are built
//! again whenever a source changes, and the findings are shown over them. While
//! there are errors, the pages stay as they were.
//!
//! It never writes to a shop's output and makes no PDF: the pages are in a
//! temporary folder. It serves only files in that folder, and accepts only a path
//! from the browser.

mod build;
mod connections;
mod files;
mod overlay;
mod request;
mod server;
mod session;
mod settings;
mod shared;
mod status;
mod watch;

pub(crate) use session::{Preview, PreviewError};
pub(crate) use settings::{Check, Outcome, Settings};
