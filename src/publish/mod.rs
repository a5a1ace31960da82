//! Writes the output folder: sheets, the pages that link to them, and the manual, in each medium.
//!
//! **In**: checked sources, and a summary of each job. **Out**: the output folder.
//! This stage joins `sheet`, `site`, `manual`, `render` and `output`. It never decides what a page says
//! or how it looks.
//!
//! A job is built again only if one of its pages is out of date, and the jobs of one procedure are
//! dropped before the next. So a large shop does not need the memory or the time for all jobs.

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
use crate::site::{Site, nav_of_sheet};
use crate::{CheckedJobs, Rehearsed, Sources};
pub(crate) use error::PublishError;
use inputs::Inputs;
pub(crate) use outlet::{Outlet, Pdfs, Progress};
use plan::{figures, pages};
use run::PublishRun;
pub(crate) use run::Published;
pub(crate) use selection::Selection;
use std::collections::BTreeSet;

/// The most jobs in the manual of a whole shop. A manual with more jobs would not fit in a binder, and
/// typst would need more memory than a workshop's computer has. Such a shop runs `bind` for each machine.
pub(crate) const MOST_JOBS_BOUND: usize = 300;

fn binds_manual(selection: &Selection, jobs: usize) -> bool {
    selection.is_whole() && jobs <= MOST_JOBS_BOUND
}

/// Returns a function that makes the summary of a job, with its entries in the search index of each of
/// the shop's languages.
pub(crate) fn summarizer<'s>(
    sources: &'s Sources,
    look: &Look,
) -> impl Fn(Rehearsed<'s>) -> Option<Summary<'s>> + Sync {
    // An error in the shop's own words is reported when the pages are made.
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

/// Makes the selected sheets of checked jobs and writes them to the output folder. If all sheets are
/// selected, also makes the pages that link to them and the manual.
///
/// `checked` has the summaries of all selected jobs. If all sheets are selected, they must be made with
/// [`summarizer`].
///
/// # Errors
///
/// If a page can't be rendered or the output can't be written. Then either the output is unchanged, or
/// the next run completes this one.
pub(crate) fn publish(
    sources: &Sources,
    checked: &CheckedJobs<'_, Summary<'_>>,
    selection: &Selection,
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let faults: Vec<&Rehearsed<'_>> = checked
        .faults
        .iter()
        .filter(|fault| selection.includes(&fault.job))
        .collect();
    let run = PublishRun {
        sources,
        jobs: &checked.jobs,
        selection,
        pages: pages(sources, &checked.jobs, &faults, selection),
        figures: figures(sources, &checked.jobs, &faults, selection),
        is_whole: selection.is_whole(),
    };
    let published = run.deliver(outlet, |publishers| {
        outlet.progress.begin_stage("sheets of jobs");
        let inputs = Inputs::of(sources);
        let sheets = || {
            publishers
                .iter()
                .try_for_each(|publisher| publisher.publish_procedures(&inputs))
        };
        // The manual takes as long as many sheets, so both are made in parallel.
        let manual = || {
            if binds_manual(selection, checked.jobs.len()) {
                manual::publish_whole_shop(publishers, sources, selection.rules_appendix)
            } else {
                Ok(())
            }
        };
        let (manual, sheets) = rayon::join(manual, sheets);
        manual.and(sheets)?;
        outlet
            .progress
            .begin_stage("sheets of machines and of the shop");
        let is_whole = selection.is_whole();
        let pages = || {
            publishers
                .iter()
                .try_for_each(|publisher| publisher.publish_other_sheets(&faults))?;
            if !is_whole {
                return Ok(());
            }
            outlet.progress.begin_stage("pages that lead to sheets");
            publishers
                .iter()
                .try_for_each(|publisher| publisher.publish_site(&faults))
        };
        // The search index is one long list that is built on one thread. No page depends on it.
        let search = || {
            let mut editions = publishers.iter().enumerate().filter(|_| is_whole);
            editions.try_for_each(|(index, publisher)| publisher.write_search_index(index, &faults))
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
/// See [`publish`].
pub(crate) fn kit(
    sources: &Sources,
    jobs: &[&Job<'_>],
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let run = PublishRun {
        sources,
        jobs: &[],
        selection: &Selection::default(),
        pages: BTreeSet::from([sheet::kit_page(jobs)]),
        figures: BTreeSet::new(),
        is_whole: false,
    };
    let published = run.deliver(outlet, |publishers| {
        for publisher in publishers {
            if let Some(sheet) = sheet::kit_of(&sources.shop, jobs, publisher.output) {
                let nav = nav_of_sheet(publisher.output, &sheet.page, &sheet.head.title, None);
                publisher.publish_sheet(&sheet, &nav)?;
            }
        }
        Ok(())
    })?;
    Ok(Published {
        jobs: jobs.len(),
        ..published
    })
}

/// Publishes the reference of the rules alone, which needs no job.
///
/// # Errors
///
/// As [`publish`].
pub(crate) fn publish_rules(
    sources: &Sources,
    outlet: Outlet<'_>,
) -> Result<Published, PublishError> {
    let run = PublishRun {
        sources,
        jobs: &[],
        selection: &Selection::default(),
        pages: plan::rules().collect(),
        figures: BTreeSet::new(),
        is_whole: false,
    };
    run.deliver(outlet, |publishers| {
        publishers.iter().try_for_each(|publisher| {
            publisher.publish_rules(&Site {
                shop: &sources.shop,
                jobs: &[],
                faults: &[],
                output: publisher.output,
            })
        })
    })
}
