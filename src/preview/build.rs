//! Builds the pages from the current sources.

use super::settings::{Check, Settings};
use crate::finding::{Findings, Level};
use crate::output::OutputSettings;
use crate::publish::{Outlet, Pdfs, Progress, PublishError, Selection, publish, publish_rules};
use crate::render::Look;
use crate::report::{self, FindingEntry};
use crate::sheet::Summary;
use crate::tree::Disk;
use crate::words::Words;
use crate::{CheckedJobs, Sources};
use std::path::Path;

/// The front page of the site.
const FRONT: &str = "index.html";

/// The result of a build.
#[derive(Debug, Default)]
pub(super) struct BuildResult {
    /// The findings, errors first.
    pub(super) findings: Vec<FindingEntry>,
    /// The findings, as text for a terminal.
    pub(super) text: String,
    /// Errors outside the sources that prevented the build.
    pub(super) failures: Vec<FindingEntry>,
    /// The number of new, changed and removed files. None if no pages were made.
    pub(super) changed: Option<usize>,
    /// The language of the shop's first edition. None if the tree could not be opened or the shop names no language.
    pub(super) language: Option<String>,
    /// The words of each language, with the shop's own. None if the shop's own words could not be read.
    pub(super) words: Option<Vec<Words>>,
}

/// Checks the sources, and makes the pages if there are no errors.
pub(super) fn build(settings: &Settings, check: &Check<'_>, folder: &Path) -> BuildResult {
    let mut result = BuildResult::default();
    let disk = match Disk::open(&settings.tree) {
        Ok(disk) => disk,
        Err(error) => {
            let tree = settings.tree.display();
            let message = format!("can't open the folder `{tree}`: {error}");
            result.failures.push(FindingEntry::without_rule(message));
            return result;
        }
    };
    let sources = crate::read(&disk);
    let look = Look::read(&settings.templates);
    let checked = check(&sources, look.as_ref().unwrap_or(&Look::default()));
    result.language = sources.shop.languages.first().cloned();
    result.add(&sources, &checked.findings);
    // The sources are checked even if the shop's own look can't be used.
    let look = match look {
        Ok(look) => look,
        Err(error) => {
            result
                .failures
                .push(FindingEntry::without_rule(error.to_string()));
            return result;
        }
    };
    result.words = words_with_own(&look);
    if checked.findings.count(Level::Error) > 0 {
        // The findings have links to the pages of their rules.
        if !folder.join(FRONT).exists()
            && let Err(error) = publish_rules(&sources, outlet(&look, folder))
        {
            result
                .failures
                .push(FindingEntry::without_rule(error.to_string()));
        }
        return result;
    }
    match make_pages(&sources, &checked, &look, folder) {
        Ok(changed) => result.changed = Some(changed),
        Err(error) => result
            .failures
            .push(FindingEntry::without_rule(error.to_string())),
    }
    result
}

/// Makes the pages. Returns the number of changed files.
fn make_pages(
    sources: &Sources,
    checked: &CheckedJobs<'_, Summary<'_>>,
    look: &Look,
    folder: &Path,
) -> Result<usize, PublishError> {
    let selection = Selection::default();
    let files = publish(sources, checked, &selection, outlet(look, folder))?.files;
    Ok(files.written + files.removed)
}

fn outlet<'o>(look: &'o Look, folder: &'o Path) -> Outlet<'o> {
    Outlet {
        look,
        pdfs: &Pdfs::NotAsked,
        folder,
        settings: OutputSettings::TEMPORARY,
        world: None,
        progress: &Silent,
    }
}

impl BuildResult {
    fn add(&mut self, sources: &Sources, findings: &Findings) {
        let tree = &sources.tree;
        self.findings.extend(report::entries(tree, findings));
        // Errors first. Within a level, the order of the terminal.
        self.findings
            .sort_by_key(|entry| match entry.level.as_str() {
                "error" => 0,
                "warning" => 1,
                _ => 2,
            });
        self.text += &report::terminal_worst(tree, findings, true);
    }
}

/// The words of every language with the shop's own. None if the shop's own words have an error; making the
/// pages reports it.
fn words_with_own(look: &Look) -> Option<Vec<Words>> {
    let languages = Words::built_in().iter();
    languages
        .map(|words| match look.words() {
            Some(own) => words.with_own(own).ok(),
            None => Some(words.clone()),
        })
        .collect()
}

/// Shows no progress.
struct Silent;

impl Progress for Silent {
    fn set_total(&self, _: usize) {}
    fn page_done(&self) {}
}
