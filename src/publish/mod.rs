//! Writes the output folder: sheets, the pages that lead to them, and the manual, in each medium.
//!
//! **In**: sources that were checked, and a summary of each job. **Out**: the output folder.
//! A job is made again only where one of its pages is out of date, and one procedure at a time, so
//! that a large shop needs neither the memory for all jobs nor the time. This stage joins `sheet`,
//! `site`, `manual`, `render` and `output`. It does not decide what a page says or how it looks.

mod error;
mod inputs;
mod job_pages;
mod links;
pub(crate) mod manual;
mod other_pages;
mod outlet;
mod plan;
mod publisher;
mod run;
mod selection;

use crate::job::Job;
use crate::page::{Edition, OutputContext};
use crate::render::Look;
use crate::sheet::{self, SearchPiece, Summary};
use crate::site::nav_of_sheet;
use crate::{CheckedJobs, Rehearsed, Sources};
pub(crate) use error::PublishError;
use inputs::Inputs;
pub(crate) use outlet::{Outlet, Pdfs, Progress};
use plan::{figures, pages};
use run::PublishRun;
pub(crate) use run::Published;
pub(crate) use selection::Selection;
use std::collections::BTreeSet;

/// The most jobs of one manual. With more, a binder would not hold the paper, and typst would need
/// more memory than a workshop's computer has; `bind` then makes one manual for each machine.
pub(crate) const MOST_JOBS_BOUND: usize = 300;

/// Whether the manual of the whole shop is made together with the sheets.
fn binds_manual(selection: &Selection, jobs: usize) -> bool {
    selection.is_whole() && jobs <= MOST_JOBS_BOUND
}

/// Returns the function that makes a job's summary for a whole output, with its entries of the search
/// in each of the shop's languages.
pub(crate) fn summaries<'s>(
    sources: &'s Sources,
    look: &Look,
) -> impl Fn(Rehearsed<'s>) -> Option<Summary<'s>> + Sync {
    // A fault in the shop's own words is reported where pages are made.
    let editions = Edition::of_shop(&sources.shop, look.words())
        .or_else(|_| Edition::of_shop(&sources.shop, None))
        .unwrap_or_default();
    let contexts = OutputContext::of_editions(&sources.tree, &editions, BTreeSet::new());
    move |rehearsed| {
        let mut summary = Summary::of(&rehearsed.job);
        let pieces = contexts
            .iter()
            .map(|context| SearchPiece::of_job(&rehearsed.job, &rehearsed.rehearsal, context));
        summary.search = pieces.collect();
        Some(summary)
    }
}

/// Makes the selected sheets of checked jobs and writes them to the output folder. If all are
/// selected, makes the pages that lead to them, too.
///
/// `checked` holds the summaries of all selected jobs; for a whole output, [`summaries`] makes them.
///
/// # Errors
///
/// When a page can't be rendered or the output can't be written. Then either nothing in the output
/// has changed, or the next run completes what this one began.
pub(crate) fn publish(
    sources: &Sources,
    checked: &CheckedJobs<'_, Summary<'_>>,
    selection: &Selection,
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let faults: Vec<&Rehearsed<'_>> = checked
        .faults
        .iter()
        .filter(|fault| selection.takes(&fault.job))
        .collect();
    let run = PublishRun {
        sources,
        jobs: &checked.jobs,
        selection,
        made: pages(sources, &checked.jobs, &faults, selection),
        figures: figures(&checked.jobs, &faults, selection),
        is_whole: selection.is_whole(),
    };
    let published = run.deliver(outlet, |publishers| {
        outlet.progress.begins("sheets of jobs");
        let inputs = Inputs::of(sources);
        let sheets = || {
            publishers
                .iter()
                .try_for_each(|publisher| publisher.procedures(&inputs))
        };
        // The manual takes as long as many sheets, so it is made at the same time.
        let manual = || {
            if binds_manual(selection, checked.jobs.len()) {
                manual::of_whole_shop(publishers, sources)
            } else {
                Ok(())
            }
        };
        let (manual, sheets) = rayon::join(manual, sheets);
        manual.and(sheets)?;
        outlet.progress.begins("sheets of machines and of the shop");
        let is_whole = selection.is_whole();
        let pages = || {
            let mut all = publishers.iter();
            all.try_for_each(|publisher| publisher.others(&faults))?;
            if !is_whole {
                return Ok(());
            }
            outlet.progress.begins("pages that lead to sheets");
            let mut all = publishers.iter();
            all.try_for_each(|publisher| publisher.site(&faults))
        };
        // The index of the search is one long list, and nothing else here needs it.
        let search = || {
            let mut all = publishers.iter().enumerate().filter(|_| is_whole);
            all.try_for_each(|(at, publisher)| publisher.search(at, &faults))
        };
        let (pages, search) = rayon::join(pages, search);
        pages.and(search)
    })?;
    Ok(Published {
        jobs: checked.jobs.len(),
        ..published
    })
}

/// Makes one kit list for several jobs together.
///
/// # Errors
///
/// As [`publish`].
pub(crate) fn kit(
    sources: &Sources,
    jobs: &[&Job<'_>],
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let run = PublishRun {
        sources,
        jobs: &[],
        selection: &Selection::default(),
        made: BTreeSet::from([sheet::kit_page(jobs)]),
        figures: BTreeSet::new(),
        is_whole: false,
    };
    let published = run.deliver(outlet, |publishers| {
        for publisher in publishers {
            if let Some(sheet) = sheet::kit_of(&sources.shop, jobs, publisher.output) {
                publisher.other(&sheet, &nav_of_sheet(publisher.output, None, None))?;
            }
        }
        Ok(())
    })?;
    Ok(Published {
        jobs: jobs.len(),
        ..published
    })
}
