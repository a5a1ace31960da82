//! Publishes sources in memory, for the fuzz targets in `fuzz` and their test.
//!
//! In: sources. Out: the output folder, and each sheet as the data that both media are made from. The targets compare
//! the two.

use crate::Sources;
use crate::finding::{Findings, Level};
use crate::output::OutputSettings;
use crate::page::{OutputContext, Sheet};
use crate::publish::{Outlet, Pdfs, Progress, Selection, publish};
use crate::render::{Look, Paths, Typst};
use crate::review::check_with_sheets;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// What [`publish_pages`] has made.
#[derive(Debug, Default)]
pub struct PublishedPages {
    /// The findings of the check. If one of them is an error, nothing was made.
    pub checked: Findings,
    /// The number of files that were written or removed.
    pub changed: usize,
    /// Each sheet by its path in the output, without extension: the data that the typesetter receives, as JSON.
    pub sheets: BTreeMap<String, String>,
}

/// Checks sources, and makes all their pages if there is no error, as `benchleaf publish` does. Without a typesetter
/// it makes no PDFs.
///
/// # Errors
///
/// If the pages could not be made.
pub fn publish_pages(
    sources: &Sources,
    folder: &Path,
    typst: Option<&Path>,
) -> Result<PublishedPages, String> {
    let look = Look::default();
    let sheets = SheetData::default();
    let checked = check_with_sheets(sources, None, &look, |sheet, context| {
        sheets.add(sheet, context);
    })
    .map_err(|error| error.to_string())?;
    let mut pages = PublishedPages::default();
    if checked.findings.count(Level::Error) == 0 {
        let pdfs = match typst {
            Some(path) => match Typst::find(Some(path), None, folder) {
                Ok(typst) => Pdfs::With(typst),
                Err(error) => return Err(error.to_string()),
            },
            None => Pdfs::NotAsked,
        };
        let outlet = Outlet {
            look: &look,
            pdfs: &pdfs,
            folder,
            settings: OutputSettings::TEMPORARY,
            world: None,
            progress: &Silent,
        };
        let published = publish(sources, &checked, &Selection::default(), outlet)
            .map_err(|error| error.to_string())?;
        pages.changed = published.files.written + published.files.removed;
        pages.sheets = sheets
            .0
            .into_inner()
            .unwrap_or_else(PoisonError::into_inner);
    }
    pages.checked = checked.findings;
    Ok(pages)
}

/// The data of sheets, by path.
#[derive(Default)]
struct SheetData(Mutex<BTreeMap<String, String>>);

impl SheetData {
    fn add(&self, sheet: &Sheet, context: &OutputContext) {
        let path = Paths::new(context, None).path(&sheet.page);
        // Plain data with text keys, so this can't fail.
        let json = serde_json::to_string(sheet).unwrap_or_default();
        let mut sheets = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        sheets.insert(path, json);
    }
}

/// Shows no progress.
struct Silent;

impl Progress for Silent {
    fn set_total(&self, _: usize) {}
    fn page_done(&self) {}
}
