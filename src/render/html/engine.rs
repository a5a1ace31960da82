//! The template engine of one language, and the context that all templates share.

use super::deference;
use super::filters::{css, sentence};
use super::languages::with_languages;
use super::pieces::{Pieces, new_pieces};
use super::shared::{Shared, SharedFile, shared_files};
use crate::render::address::{Addresses, url};
use crate::render::{Look, RenderError, qr};
use crate::shop::Colour;
use crate::words::Words;
use serde::Serialize;
use std::fmt::Write as _;
use tera::{Context, Kwargs, State, Tera, TeraResult, Value};

/// The parsed page templates of one language.
///
/// A page depends only on files of the output folder: figures, the style sheet and the scripts. So it
/// can be opened from a disk or a server. It can also be read on paper and without scripts.
pub(crate) struct Html {
    pub(super) tera: Tera,
    pub(super) look: Look,
    /// The words as a template value. Converted once, because all pages share them.
    pub(super) words: Value,
    /// The paths of the files that all pages share, as a template value.
    pub(super) shared: Value,
    /// The files that all pages share: the path from the output's root and the text of each.
    files: Vec<SharedFile>,
    pub(super) pieces: Pieces,
    /// The element with the notice of precedence, if the shop has a look of its own.
    deference: Option<String>,
    /// The language of the shop's text, if it is another than that of the pages.
    author: Option<String>,
}

impl std::fmt::Debug for Html {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Html").finish_non_exhaustive()
    }
}

impl Html {
    /// Parses the built-in templates, with the shop's overrides. `words` are in the pages' language.
    ///
    /// # Errors
    ///
    /// If a template has an error.
    pub(crate) fn new(
        look: &Look,
        accent: Option<Colour>,
        words: &Words,
    ) -> Result<Html, RenderError> {
        let mut tera = Tera::new();
        // An empty suffix matches every name, so all templates escape.
        tera.autoescape_on([""]);
        tera.register_filter("url", |path: &str, _: Kwargs, _: &State| url(path));
        tera.register_filter("sentence", |text: &str, _: Kwargs, _: &State| {
            sentence(text)
        });
        tera.register_filter("css", |text: &str, _: Kwargs, _: &State| css(text));
        tera.register_filter("qr", |address: &str, values: Kwargs, _: &State| {
            let mark: String = values.must_get("mark")?;
            TeraResult::Ok(qr::qr(address, &mark).unwrap_or_default())
        });
        // The style sheet and the scripts are separate files and not templates.
        let is_page = |name: &str| name.rsplit('.').next() == Some("html");
        let pages = look.html().into_iter();
        tera.add_raw_templates(pages.filter(|(name, _)| is_page(name)))
            .map_err(|error| template_error(&error, look))?;
        let shared = shared_files(look, accent, words);
        Ok(Html {
            tera,
            look: look.clone(),
            words: Value::from_serializable(words.all()),
            shared: Value::from_serializable(&Shared::of(&shared)),
            files: shared,
            pieces: new_pieces(),
            deference: look.has_own_pages().then(|| deference::element(words)),
            author: words.author().map(str::to_owned),
        })
    }

    /// The files that all pages share: the path from the output's root and the text of each.
    #[must_use]
    pub(crate) fn shared(&self) -> Vec<(String, String)> {
        let files = self.files.iter();
        files
            .map(|file| (file.path.clone(), file.text.clone()))
            .collect()
    }

    pub(super) fn value(&self, data: &impl Serialize) -> Result<Value, RenderError> {
        Value::try_from_serializable(data).map_err(|error| template_error(&error, &self.look))
    }

    /// A whole page; see [`render`](Self::render).
    pub(super) fn render_page(
        &self,
        template: &str,
        made: &[(&'static str, Value)],
        data: &impl Serialize,
        addresses: &Addresses,
    ) -> Result<String, RenderError> {
        let page = self.render(template, made, data, addresses)?;
        let page = match &self.author {
            Some(author) => with_languages(&page, author),
            None => page,
        };
        match &self.deference {
            Some(element) => deference::with_element(page, element),
            None => Ok(page),
        }
    }

    pub(super) fn render(
        &self,
        template: &str,
        values: &[(&'static str, Value)],
        data: &impl Serialize,
        addresses: &Addresses,
    ) -> Result<String, RenderError> {
        let mut context =
            Context::from_serialize(data).map_err(|error| template_error(&error, &self.look))?;
        for (name, value) in values {
            context.insert_value(*name, value.clone());
        }
        context.insert_value("words", self.words.clone());
        context.insert_value("shared", self.shared.clone());
        context.insert("up", &addresses.up);
        context.insert("offline", &addresses.offline);
        context.insert("search_root", &addresses.search_root);
        context.insert("web", &addresses.web);
        context.insert("pdf", &addresses.pdf);
        context.insert("links", &addresses.links);
        context.insert("pdfs", &addresses.pdfs);
        context.insert("pictures", &addresses.figures);
        context.insert("languages", &addresses.languages);
        let logo = self.look.logo();
        let logo = logo.map(|(path, _)| format!("{}{}", addresses.up, url(&path)));
        context.insert("logo", &logo);
        self.tera
            .render(template, &context)
            .map_err(|error| template_error(&error, &self.look))
    }
}

/// Converts an error of the template engine, with all its causes.
pub(super) fn template_error(error: &tera::Error, look: &Look) -> RenderError {
    let mut message = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(error) = cause {
        let _ = write!(message, ": {error}");
        cause = error.source();
    }
    RenderError::Template {
        message: look.with_paths(&message),
    }
}
