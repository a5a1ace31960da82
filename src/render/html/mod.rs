//! Renders sheets and the pages that lead to them as HTML with tera.

mod blocks;
mod engine;
mod filters;
mod pages;
mod pieces;
mod place;
mod shared;
#[cfg(test)]
mod tests;

pub(crate) use engine::Html;
pub(crate) use filters::script_text;
