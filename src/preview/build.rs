//! From the sources as they are now to pages in the preview's folder.

use super::{Check, Settings};
use crate::finding::{Findings, Level};
use crate::publish::{Outlet, Pdfs, Progress, PublishError, Selection, publish};
use crate::render::Look;
use crate::report::{self, Entry};
use crate::sheet::Summary;
use crate::tree::Disk;
use crate::words::Words;
use crate::{Checked, Sources};
use std::path::Path;

/// What came of making the pages.
#[derive(Debug, Default)]
pub(super) struct Built {
    /// What was found, errors first.
    pub(super) findings: Vec<Entry>,
    /// The same, as it is shown on a terminal.
    pub(super) text: String,
    /// What kept the pages from being made besides findings.
    pub(super) trouble: Vec<Entry>,
    /// How many files are new, changed or gone; none where no pages were made.
    pub(super) changed: Option<usize>,
    /// The language of the shop's first edition, where its file could be read.
    pub(super) language: Option<String>,
    /// The words of each language, with the shop's own, where those could be read.
    pub(super) words: Option<Vec<Words>>,
}

/// Checks the sources, and makes the pages where nothing stands in the way.
pub(super) fn build(settings: &Settings, check: &Check<'_>, folder: &Path) -> Built {
    let mut built = Built::default();
    let disk = match Disk::open(&settings.tree) {
        Ok(disk) => disk,
        Err(why) => {
            let tree = settings.tree.display();
            let message = format!("can't open the folder `{tree}`: {why}");
            built.trouble.push(Entry::trouble(message));
            return built;
        }
    };
    let sources = crate::read(&disk);
    let look = Look::read(&settings.templates);
    let checked = check(&sources, look.as_ref().unwrap_or(&Look::default()));
    built.language = sources.shop.languages.first().cloned();
    built.find(&sources, &checked.findings);
    // What is wrong with it is worth saying even where it will not be used.
    let look = match look {
        Ok(look) => look,
        Err(why) => {
            built.trouble.push(Entry::trouble(why.to_string()));
            return built;
        }
    };
    built.words = own_words(&look);
    if checked.findings.count(Level::Error) > 0 {
        return built;
    }
    match make_pages(&sources, &checked, &look, folder) {
        Ok((changed, findings)) => {
            built.find(&sources, &findings);
            built.changed = Some(changed);
        }
        Err(why) => built.trouble.push(Entry::trouble(why.to_string())),
    }
    built
}

/// The one place that knows how pages are made: how many files changed, and what was found.
fn make_pages(
    sources: &Sources,
    checked: &Checked<'_, Summary<'_>>,
    look: &Look,
    folder: &Path,
) -> Result<(usize, Findings), PublishError> {
    let all = Selection::default();
    let outlet = Outlet {
        look,
        pdfs: &Pdfs::NotAsked,
        folder,
        progress: &Silent,
    };
    let published = publish(sources, checked, &all, outlet)?;
    let delivered = published.delivered;
    Ok((delivered.written + delivered.removed, published.findings))
}

impl Built {
    fn find(&mut self, sources: &Sources, findings: &Findings) {
        let tree = &sources.tree;
        self.findings.extend(report::entries(tree, findings));
        // Errors first; within a level the order is that of the terminal.
        let rank = |entry: &Entry| {
            ["error", "warning"]
                .iter()
                .position(|one| *one == entry.level)
        };
        self.findings
            .sort_by_key(|entry| rank(entry).unwrap_or(usize::MAX));
        self.text += &report::terminal(tree, findings, true);
    }
}

/// The words of every language; none where the shop's own are at fault, which making the pages says.
fn own_words(look: &Look) -> Option<Vec<Words>> {
    let languages = crate::words::LANGUAGES.iter();
    languages
        .map(|language| {
            let words = Words::of(language)?;
            match look.words() {
                Some(own) => words.with_own(own).ok(),
                None => Some(words.clone()),
            }
        })
        .collect()
}

/// A preview's pages are made while nobody waits at a terminal.
struct Silent;

impl Progress for Silent {
    fn expect(&self, _: usize) {}
    fn made(&self) {}
}
