//! Checked jobs become files: leaves and the pages that lead to them, rendered
//! in each medium, put in place.
//!
//! Comes in: sources that were checked, and a summary of each job. Goes out: the
//! output folder. Jobs are made again one procedure at a time, and only those of
//! which a page is out of date: a large shop needs neither the room for all of
//! them nor the time. It joins `sheet`, `site`, `manual`, `render` and `output`; what a page says or
//! how it looks is theirs.

mod error;
mod inputs;
mod job_pages;
mod links;
pub mod manual;
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
use crate::{Checked, Rehearsed, Sources};
pub use error::PublishError;
use inputs::Inputs;
pub use outlet::{Outlet, Pdfs, Progress};
use plan::{figures, pages};
pub use run::Published;
use run::Run;
pub use selection::Selection;
use std::collections::BTreeSet;

/// As many jobs as one manual can be bound of. Of more, a binder would not hold the paper, and the
/// typesetter needs more memory than a workshop's computer has: `bind` makes a manual a machine.
pub const MOST_JOBS_BOUND: usize = 300;

/// Whether the manual of the whole shop is made along with the leaves.
fn binds_manual(selection: &Selection, jobs: usize) -> bool {
    selection.is_whole() && jobs <= MOST_JOBS_BOUND
}

/// What to keep of each job for a whole output: its summary, with what can be found of it in each of
/// the shop's languages.
pub fn summaries<'s>(
    sources: &'s Sources,
    look: &Look,
) -> impl Fn(Rehearsed<'s>) -> Option<Summary<'s>> + Sync {
    // Words that can't be taken over are said to be so where pages are made.
    let editions = Edition::of_shop(&sources.shop, look.words())
        .or_else(|_| Edition::of_shop(&sources.shop, None))
        .unwrap_or_default();
    let contexts = OutputContext::of_editions(&sources.tree, &editions, BTreeSet::new());
    move |one| {
        let mut summary = Summary::of(&one.job);
        let pieces = contexts
            .iter()
            .map(|context| SearchPiece::of_job(&one.job, &one.rehearsal, context));
        summary.search = pieces.collect();
        Some(summary)
    }
}

/// Makes the selected leaves of checked jobs and puts them in the output folder; with all of them
/// the pages that lead to them.
///
/// `checked` holds the summaries of all jobs that are asked for: of [`summaries`] for a whole output.
///
/// # Errors
///
/// When a page can't be rendered at all or the output can't be written; then
/// nothing in the output has changed, or the next run completes what this one began.
pub fn publish(
    sources: &Sources,
    checked: &Checked<'_, Summary<'_>>,
    selection: &Selection,
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let faults: Vec<&Rehearsed<'_>> = checked
        .faults
        .iter()
        .filter(|one| selection.takes(&one.job))
        .collect();
    let run = Run {
        sources,
        jobs: &checked.jobs,
        selection,
        made: pages(sources, &checked.jobs, &faults, selection),
        figures: figures(&checked.jobs, &faults, selection),
        is_whole: selection.is_whole(),
    };
    let published = run.deliver(outlet, |publishers| {
        outlet.progress.begins("leaves of jobs");
        let inputs = Inputs::of(sources);
        let leaves = || {
            publishers
                .iter()
                .try_for_each(|publisher| publisher.procedures(&inputs))
        };
        // The manual takes as long as many leaves do: beside them, not after them.
        let manual = || {
            if binds_manual(selection, checked.jobs.len()) {
                manual::of_whole_shop(publishers, sources)
            } else {
                Ok(())
            }
        };
        let (manual, leaves) = rayon::join(manual, leaves);
        manual.and(leaves)?;
        outlet.progress.begins("leaves of machines and of the shop");
        let is_whole = selection.is_whole();
        let pages = || {
            let mut all = publishers.iter();
            all.try_for_each(|publisher| publisher.others(&faults))?;
            if !is_whole {
                return Ok(());
            }
            outlet.progress.begins("pages that lead to leaves");
            let mut all = publishers.iter();
            all.try_for_each(|publisher| publisher.site(&faults))
        };
        // What is searched is one long list, which nothing else here waits for.
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

/// Makes one kit list for some jobs together.
///
/// # Errors
///
/// As [`publish`].
pub fn kit(
    sources: &Sources,
    jobs: &[&Job<'_>],
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let run = Run {
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
