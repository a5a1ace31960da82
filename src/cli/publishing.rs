//! Publishes sources in memory, for the fuzz targets in `fuzz` and their test.
//!
//! In: sources. Out: the output folder, and each sheet as the data that both media are made from. The targets compare
//! the two.

use crate::finding::{Findings, Level};
use crate::output::OutputSettings;
use crate::page::{Edition, OutputContext, Sheet, SheetKind};
use crate::publish::{Outlet, Pdfs, Progress, Selection, publish, summarizer};
use crate::render::{Look, Paths, Typst};
use crate::sheet::{self, JobDocument, Summary};
use crate::{Rehearsed, Sources};
use std::collections::{BTreeMap, BTreeSet};
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
    let editions = Edition::of_shop(&sources.shop, None).map_err(|error| error.to_string())?;
    let contexts = OutputContext::of_editions(&sources.tree, &editions, BTreeSet::new());
    let sheets = SheetData::default();
    let summary = summarizer(sources, &look);
    let checked = crate::check_jobs(sources, None, |rehearsed| {
        for context in &contexts {
            let document = JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, context);
            for kind in SheetKind::OF_JOB {
                sheets.add(document.sheet(kind), context);
            }
        }
        summary(rehearsed)
    });
    let mut pages = PublishedPages::default();
    if checked.findings.count(Level::Error) == 0 {
        for context in &contexts {
            for Rehearsed { job, rehearsal } in &checked.faults {
                sheets.add(Some(sheet::fault_sheet(job, rehearsal, context)), context);
            }
            let jobs: Vec<&Summary<'_>> = checked.jobs.iter().collect();
            for machine in sources.shop.machines.values() {
                let own = jobs.iter().copied();
                let own: Vec<_> = own.filter(|job| job.machine.id == machine.id).collect();
                // No sheet of a machine without jobs is published.
                let kinds = SheetKind::OF_MACHINE.into_iter();
                for kind in kinds.filter(|_| !own.is_empty()) {
                    let sheet = sheet::machine_sheet(kind, &sources.shop, machine, &own, context);
                    sheets.add(sheet, context);
                }
            }
            if jobs.iter().any(|job| job.uses_any()) {
                sheets.add(sheet::where_used(&sources.shop, &jobs, context), context);
            }
        }
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
    fn add(&self, sheet: Option<Sheet>, context: &OutputContext) {
        let Some(sheet) = sheet else { return };
        let path = Paths::new(context, None).path(&sheet.page);
        // Plain data with text keys, so this can't fail.
        let json = serde_json::to_string(&sheet).unwrap_or_default();
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
