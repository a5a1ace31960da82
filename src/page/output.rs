//! The context of a run: its language and the pages that are generated.

use super::{Edition, FigureId, PageId};
use crate::trade::Day;
use crate::tree::{Drawing, MostPixels, Tree};
use crate::words::marks::plain;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The context of the pages of one language in one run.
#[derive(Clone, Debug)]
pub(crate) struct OutputContext {
    pub(crate) edition: Edition,
    /// Every language of the run, the shop's first language first.
    pub(crate) languages: Arc<[PageLanguage]>,
    /// The pages that are generated in this run. A link to any other page becomes plain text.
    pages: Arc<BTreeSet<PageId>>,
    figures: Arc<BTreeMap<FigureId, FigureFacts>>,
    /// The day for which interval charts say what is due. `None` if they do not.
    pub(crate) on: Option<Day>,
    /// The same context in no language. `None` in that context itself.
    neutral: Option<Arc<OutputContext>>,
}

/// What pages need of a figure in the tree.
#[derive(Clone, Debug)]
pub(crate) struct FigureFacts {
    /// Eight hexadecimal digits that change with the file's content.
    pub(crate) content: String,
    /// The least width in print, in tenths of a millimetre, at which its labels can be read.
    pub(crate) least_width: Option<u32>,
    /// Its shapes. `None` if it is damaged.
    pub(crate) drawing: Option<Arc<Drawing>>,
}

/// A language in which pages are generated.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
pub(crate) struct PageLanguage {
    /// A BCP 47 tag.
    pub(crate) tag: String,
    /// The language's name in that language: "Español".
    pub(crate) name: String,
}

impl FigureFacts {
    /// The width and height of its image on a page: in pixels, or for a drawing in its units.
    #[must_use]
    pub(crate) fn size(&self) -> Option<[u32; 2]> {
        let drawing = self.drawing.as_ref()?;
        let of_drawing = || [drawing.width, drawing.height].map(i32::unsigned_abs);
        let pixels = drawing.pixels.map(|pixels| MostPixels::PAGE.fit(pixels));
        Some(pixels.unwrap_or_else(of_drawing))
    }
}

impl OutputContext {
    /// One context for each edition. `pages` are the pages that are generated.
    #[must_use]
    pub(crate) fn of_editions(
        tree: &Tree,
        editions: &[Edition],
        pages: impl Into<Arc<BTreeSet<PageId>>>,
    ) -> Vec<OutputContext> {
        let languages = editions.iter().map(|edition| PageLanguage {
            tag: edition.language.clone(),
            name: plain(edition.words.get("language-name")).into_owned(),
        });
        let languages: Arc<[PageLanguage]> = languages.collect();
        let figures = tree.figures.iter().map(|figure| {
            let facts = FigureFacts {
                content: figure.content().short(),
                least_width: figure.least_width(),
                drawing: figure.drawing().cloned(),
            };
            (FigureId(figure.path.clone()), facts)
        });
        let (pages, figures): (Arc<BTreeSet<PageId>>, _) =
            (pages.into(), Arc::new(figures.collect()));
        let neutral = Arc::new(OutputContext {
            edition: Edition::neutral(),
            languages,
            pages,
            figures,
            on: None,
            neutral: None,
        });
        let contexts = editions.iter().map(|edition| OutputContext {
            edition: edition.clone(),
            neutral: Some(Arc::clone(&neutral)),
            ..OutputContext::clone(&neutral)
        });
        contexts.collect()
    }

    /// These contexts, for charts that say what is due on a day.
    #[must_use]
    pub(crate) fn all_on(contexts: Vec<OutputContext>, on: Option<Day>) -> Vec<OutputContext> {
        let contexts = contexts.into_iter();
        let contexts = contexts.map(|context| OutputContext { on, ..context });
        contexts.collect()
    }

    /// This context in no language, to compare what pages say without their wording.
    #[must_use]
    pub(crate) fn neutral(&self) -> &OutputContext {
        self.neutral.as_deref().unwrap_or(self)
    }

    /// The context of a single edition for texts that are no page, and show no figure.
    #[must_use]
    pub(crate) fn without_figures(edition: &Edition) -> OutputContext {
        OutputContext {
            edition: edition.clone(),
            languages: Arc::default(),
            pages: Arc::default(),
            figures: Arc::default(),
            on: None,
            neutral: None,
        }
    }

    /// The context of a single edition.
    #[must_use]
    pub(crate) fn new(
        tree: &Tree,
        edition: &Edition,
        pages: impl Into<Arc<BTreeSet<PageId>>>,
    ) -> OutputContext {
        let mut contexts = OutputContext::of_editions(tree, std::slice::from_ref(edition), pages);
        contexts.remove(0)
    }

    #[cfg(test)]
    pub(crate) fn pages(&self) -> &BTreeSet<PageId> {
        &self.pages
    }

    /// Whether this run generates a page.
    #[must_use]
    pub(crate) fn includes(&self, page: &PageId) -> bool {
        self.pages.contains(page)
    }

    /// What pages need of a figure. `None` if the tree does not have the figure.
    #[must_use]
    pub(crate) fn figure(&self, figure: &FigureId) -> Option<&FigureFacts> {
        self.figures.get(figure)
    }
}
