//! What pages need besides what they are about.

use super::{Edition, FigureId, PageId};
use crate::cache::Fingerprint;
use crate::tree::Tree;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What is made in a run, in one of the shop's languages.
#[derive(Clone, Debug)]
pub(crate) struct OutputContext {
    /// The language and its words.
    pub(crate) edition: Edition,
    /// All the languages that pages are made in, the shop's first language first.
    pub(crate) languages: Arc<[PageLanguage]>,
    /// The pages that are made in this run: only these are linked to.
    made: Arc<BTreeSet<PageId>>,
    /// By its id, what changes when a figure of the tree does.
    figures: Arc<BTreeMap<FigureId, String>>,
}

/// A language that pages are made in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(crate) struct PageLanguage {
    /// Its tag (BCP 47).
    pub(crate) tag: String,
    /// Its own name: "Español".
    pub(crate) name: String,
}

impl OutputContext {
    /// The contexts of a tree's pages in each of its editions, when the pages in `made` are made.
    #[must_use]
    pub(crate) fn of_editions(
        tree: &Tree,
        editions: &[Edition],
        made: impl Into<Arc<BTreeSet<PageId>>>,
    ) -> Vec<OutputContext> {
        let languages = editions.iter().map(|edition| PageLanguage {
            tag: edition.language.clone(),
            name: edition.words.get("language-name").to_owned(),
        });
        let languages: Arc<[PageLanguage]> = languages.collect();
        let figures = tree.figures.iter().map(|figure| {
            let content = Fingerprint::of_bytes(&figure.bytes).short();
            (FigureId(figure.path.clone()), content)
        });
        let (made, figures) = (made.into(), Arc::new(figures.collect()));
        let contexts = editions.iter().map(|edition| OutputContext {
            edition: edition.clone(),
            languages: Arc::clone(&languages),
            made: Arc::clone(&made),
            figures: Arc::clone(&figures),
        });
        contexts.collect()
    }

    /// The context of a tree's pages in one edition alone.
    #[must_use]
    pub(crate) fn new(
        tree: &Tree,
        edition: &Edition,
        made: impl Into<Arc<BTreeSet<PageId>>>,
    ) -> OutputContext {
        let mut contexts = OutputContext::of_editions(tree, std::slice::from_ref(edition), made);
        contexts.remove(0)
    }

    /// The pages that are made in this run.
    #[cfg(test)]
    pub(crate) fn made(&self) -> &BTreeSet<PageId> {
        &self.made
    }

    /// Whether a page is made in this run.
    #[must_use]
    pub(crate) fn makes(&self, page: &PageId) -> bool {
        self.made.contains(page)
    }

    /// Eight hexadecimal digits that change when a figure does; none of a figure that the tree does not
    /// have.
    #[must_use]
    pub(crate) fn figure_content(&self, figure: &FigureId) -> Option<&str> {
        self.figures.get(figure).map(String::as_str)
    }
}
