//! The sheets of jobs, and the page of each procedure.

use super::PublishError;
use super::inputs::Inputs;
use super::plan::summary_id;
use super::publisher::Publisher;
use crate::cache::Fingerprint;
use crate::job::{self, JobFactory};
use crate::output::OutputKey;
use crate::page::{PageId, SheetKind};
use crate::rehearsal;
use crate::sheet::{JobDocument, Summary};
use crate::site::{self, Nav, Site, nav_of_sheet};
use crate::{Rehearsed, Sources};
use rayon::prelude::*;
use std::cell::OnceCell;

/// A sheet of a job, and which of its files are out of date.
struct OutdatedSheet {
    kind: SheetKind,
    /// Its path in the output, without an ending.
    path: String,
    nav: Nav,
    pdf: OutputKey,
    needs_pdf: bool,
    needs_html: bool,
}

impl<'a> Publisher<'_, 'a> {
    /// The sheets of every job, and the procedures' pages.
    pub(super) fn procedures(&self, inputs: &Inputs) -> Result<(), PublishError> {
        let site = Site {
            shop: &self.sources.shop,
            jobs: self.jobs,
            faults: &[],
            output: self.output,
        };
        let order = site.procedures();
        let Sources {
            tree,
            shop,
            procedures,
            faults,
            ..
        } = self.sources;
        job::again(tree, shop, procedures, faults, |again| {
            order
                .par_iter()
                .enumerate()
                .try_for_each(|(at, _)| self.procedure(&site, &order, at, again, inputs))
        })
    }

    /// The sheets of one procedure on all its machines, and its page.
    fn procedure(
        &self,
        site: &Site<'_, 'a>,
        order: &[Vec<&Summary<'a>>],
        at: usize,
        again: JobFactory<'a, '_>,
        inputs: &Inputs,
    ) -> Result<(), PublishError> {
        let summaries = &order[at];
        let digests: Vec<Fingerprint> = summaries
            .iter()
            .map(|job| inputs.of_job(job, self.output))
            .collect();
        // A job is made only where one of its pages is out of date. What pages say of it is written
        // once for all of them.
        let jobs: Vec<OnceCell<Rehearsed<'a>>> =
            summaries.iter().map(|_| OnceCell::new()).collect();
        let documents: Vec<OnceCell<JobDocument<'_, 'a>>> =
            summaries.iter().map(|_| OnceCell::new()).collect();
        let document = |at: usize| {
            documents[at].get_or_init(|| {
                let made = jobs[at].get_or_init(|| {
                    let summary = summaries[at];
                    let cures = summary.cures.clone();
                    let job = again.job(summary.procedure, summary.machine, cures);
                    let rehearsal = rehearsal::rehearse(&job, |_| {});
                    Rehearsed { job, rehearsal }
                });
                JobDocument::new(&made.job, &made.rehearsal, self.output)
            })
        };
        let kinds = self.selection.kinds();
        let kinds: Vec<SheetKind> = SheetKind::OF_JOB
            .into_iter()
            .filter(|kind| kinds.contains(kind))
            .collect();
        for (index, summary) in summaries.iter().enumerate() {
            for kind in &kinds {
                let due = self.due(summary, *kind, digests[index]);
                if due.needs_pdf || due.needs_html {
                    self.sheet_of_job(document(index), due, digests[index])?;
                }
                self.progress.made();
            }
        }
        let page = PageId::Procedure(summaries[0].procedure.id.clone());
        if !self.output.makes(&page) {
            return Ok(());
        }
        let path = self.paths.path(&page);
        let mut digest = self.inputs.html().with("procedure");
        for (index, summary) in summaries.iter().enumerate() {
            digest.add(digests[index]);
            for kind in &kinds {
                let sheet = PageId::JobSheet(*kind, summary_id(summary));
                digest.add(if self.has_pdf(&self.paths.path(&sheet)) {
                    "pdf"
                } else {
                    ""
                });
            }
        }
        for neighbour in [at.checked_sub(1), Some(at + 1)] {
            let neighbour = neighbour.and_then(|at| order.get(at));
            let procedure = neighbour.map(|jobs| jobs[0].procedure);
            digest.add(procedure.map_or("", |procedure| &procedure.id));
            digest.add(procedure.map_or("", |procedure| &procedure.title.value));
        }
        let key = OutputKey {
            inputs: Some(digest.finish()),
            ..OutputKey::default()
        };
        if !self.keep_html(&path, &key) {
            let documents = (0..summaries.len()).map(&document);
            let documents: Vec<&JobDocument<'_, '_>> = documents.collect();
            let page = site::procedure(site, order, at, &documents);
            let addresses = self.addresses_of_page(&page);
            let text = self.html.page(&page, &self.paths.prefix(), &addresses)?;
            self.put_html(&path, &text, key)?;
        }
        self.progress.made();
        Ok(())
    }

    /// Keeps the files of a sheet that are up to date, and says which are not.
    fn due(&self, job: &Summary<'_>, kind: SheetKind, digest: Fingerprint) -> OutdatedSheet {
        let path = self.paths.path(&PageId::JobSheet(kind, summary_id(job)));
        self.note_sheet(&path);
        let pdf = OutputKey {
            inputs: Some(self.inputs.pdf().with(kind.name()).with(digest).finish()),
            content: None,
            tool: self.tool.map(str::to_owned),
        };
        let has_pdf = self.keep_pdf(&path, &pdf, |old| old.inputs == pdf.inputs);
        // A PDF of an earlier run stays if its content is the same, which only the sheet tells.
        let may_stay = self.staged.was_there(&format!("{path}.pdf"));
        let needs_pdf = !has_pdf && (self.runner.is_some() || may_stay);
        let nav = nav_of_sheet(
            self.output,
            Some((&job.procedure.id, &job.procedure.title.value)),
            Some((&job.machine.id, &job.machine.name.value)),
        );
        let html = self.html_key(kind, digest, &nav, has_pdf);
        let needs_html = needs_pdf || !self.keep_html(&path, &html);
        OutdatedSheet {
            kind,
            path,
            nav,
            pdf,
            needs_pdf,
            needs_html,
        }
    }

    /// Makes a sheet of a job.
    fn sheet_of_job(
        &self,
        document: &JobDocument<'_, '_>,
        due: OutdatedSheet,
        digest: Fingerprint,
    ) -> Result<(), PublishError> {
        let Some(sheet) = document.sheet(due.kind) else {
            return Ok(());
        };
        if due.needs_pdf {
            self.pdf(&sheet, &due.path, due.pdf)?;
        }
        let has_pdf = self.has_pdf(&due.path);
        let key = self.html_key(due.kind, digest, &due.nav, has_pdf);
        if due.needs_html && !self.keep_html(&due.path, &key) {
            let addresses = self.addresses_of_sheet(&sheet, &due.nav);
            let text = self.html.sheet(&sheet, &due.nav, &addresses)?;
            self.put_html(&due.path, &text, key)?;
        }
        Ok(())
    }
}
