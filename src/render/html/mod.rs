//! Renders sheets, and the pages that link to them, as HTML with tera.
//!
//! **In**: a sheet or a page of the site, and its [`Addresses`](super::Addresses). **Out**: the text of
//! the HTML page, and the style sheet and scripts that all pages share. It never writes a file.

mod accent;
mod blocks;
mod deference;
mod engine;
mod filters;
mod languages;
mod pages;
mod pieces;
mod place;
mod shared;
#[cfg(test)]
mod tests;

pub(crate) use engine::Html;
pub(crate) use filters::script_text;
