//! The templates of one language, and what they all read.

use super::filters::{around, css, drawing, script_text, sentence};
use super::pieces::{Pieces, pieces};
use super::shared::{Shared, said, shared_files};
use crate::render::address::{Addresses, url};
use crate::render::{Look, RenderError, qr};
use crate::words::Words;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use tera::{Context, Kwargs, State, Tera, Value};

/// The page templates of one language, parsed and ready.
///
/// A page needs nothing but the output folder it stands in: figures, and the
/// style and the scripts that all pages share. It reads the same from a disk,
/// a server or paper, and without the scripts too.
pub(crate) struct Html {
    pub(super) tera: Tera,
    pub(super) look: Look,
    /// The words as the templates read them, made once: a page has no copy of its own.
    pub(super) words: Value,
    /// What the script of a checklist says, by the words' keys without `live-`.
    pub(super) live: BTreeMap<String, String>,
    /// What the script of the search says, as the inside of a script element of JSON.
    pub(super) search_words: String,
    pub(super) shared: Shared,
    pub(super) pieces: Pieces,
}

impl std::fmt::Debug for Html {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Html").finish_non_exhaustive()
    }
}

impl Html {
    /// Parses the templates: those that are built in, with a shop's own laid over them. `words` are
    /// those of the pages' language.
    ///
    /// # Errors
    ///
    /// When one of them has a fault.
    pub(crate) fn new(look: &Look, words: &Words) -> Result<Html, RenderError> {
        let mut tera = Tera::new();
        // Every template escapes, whatever its name ends in.
        tera.autoescape_on([""]);
        tera.register_filter("url", |path: &str, _: Kwargs, _: &State| url(path));
        tera.register_filter("sentence", |text: &str, _: Kwargs, _: &State| {
            sentence(text)
        });
        tera.register_filter("css", |text: &str, _: Kwargs, _: &State| css(text));
        tera.register_filter("drawing", |number: &str, _: Kwargs, _: &State| {
            drawing(number)
        });
        tera.register_filter("qr", |address: &str, _: Kwargs, _: &State| {
            qr::qr(address).unwrap_or_default()
        });
        tera.register_filter("around", |order: Vec<u32>, _: Kwargs, _: &State| {
            around(&order)
        });
        // The style and the scripts are files of their own, and no templates.
        let is_page = |name: &str| name.rsplit('.').next() == Some("html");
        let pages = look.html().into_iter();
        tera.add_raw_templates(pages.filter(|(name, _)| is_page(name)))
            .map_err(|error| fault(&error, look))?;
        // Texts and nothing else: they always have a JSON.
        let searched = serde_json::to_string(&said(words, "search-")).unwrap_or_default();
        Ok(Html {
            tera,
            look: look.clone(),
            words: Value::from_serializable(words.all()),
            live: said(words, "live-"),
            search_words: script_text(&searched),
            shared: Shared::of(look),
            pieces: pieces(),
        })
    }

    /// The files that all pages share, each by its path from the output's root, and its text.
    #[must_use]
    pub(crate) fn shared(&self) -> Vec<(String, String)> {
        shared_files(&self.look).into()
    }

    pub(super) fn value(&self, data: &impl Serialize) -> Result<Value, RenderError> {
        Value::try_from_serializable(data).map_err(|error| fault(&error, &self.look))
    }

    pub(super) fn render(
        &self,
        template: &str,
        made: &[(&'static str, Value)],
        data: &impl Serialize,
        addresses: &Addresses,
    ) -> Result<String, RenderError> {
        let mut context =
            Context::from_serialize(data).map_err(|error| fault(&error, &self.look))?;
        for (name, value) in made {
            context.insert_value(*name, value.clone());
        }
        context.insert_value("words", self.words.clone());
        context.insert("shared", &self.shared);
        context.insert("up", &addresses.up);
        context.insert("web", &addresses.web);
        context.insert("pdf", &addresses.pdf);
        context.insert("links", &addresses.links);
        context.insert("pdfs", &addresses.pdfs);
        context.insert("languages", &addresses.languages);
        let logo = self.look.logo();
        let logo = logo.map(|(path, _)| format!("{}{}", addresses.up, url(&path)));
        context.insert("logo", &logo);
        self.tera
            .render(template, &context)
            .map_err(|error| fault(&error, &self.look))
    }
}

/// The template engine's account of a fault, with what led to it.
pub(super) fn fault(error: &tera::Error, look: &Look) -> RenderError {
    let mut why = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(error) = cause {
        let _ = write!(why, ": {error}");
        cause = error.source();
    }
    RenderError::Template {
        why: look.with_paths(&why),
    }
}
