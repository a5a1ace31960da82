//! Publishes the sheets of jobs, and the pages of procedures.

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
use crate::site::{self, ManualOrder, Nav, Site, nav_of_job_sheet};
use crate::{Rehearsed, Sources};
use rayon::prelude::*;
use std::cell::OnceCell;

/// A sheet of a job, and which of its files must be made again.
struct OutdatedSheet {
    kind: SheetKind,
    /// Path in the output, without the extension.
    path: String,
    nav: Nav,
    nav_digest: Fingerprint,
    pdf: OutputKey,
    needs_pdf: bool,
    needs_html: bool,
}

impl<'a> Publisher<'_, 'a> {
    /// Publishes the sheets of every job, and the page of every procedure.
    pub(super) fn publish_procedures(&self, inputs: &Inputs) -> Result<(), PublishError> {
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
        job::with_factory(tree, shop, procedures, faults, |factory| {
            (0..order.procedures.len())
                .into_par_iter()
                .try_for_each(|index| self.publish_procedure(&site, &order, index, factory, inputs))
        })
    }

    /// Publishes the sheets of one procedure on all its machines, and its page if it has one. `index` is its
    /// index in `order`.
    fn publish_procedure(
        &self,
        site: &Site<'_, 'a>,
        order: &ManualOrder<'_, 'a>,
        index: usize,
        factory: JobFactory<'a, '_>,
        inputs: &Inputs,
    ) -> Result<(), PublishError> {
        let summaries = &order.procedures[index];
        let digests: Vec<Fingerprint> = summaries
            .iter()
            .map(|job| inputs.of_job(job, self.output))
            .collect();
        // A job is built and rehearsed only if one of its pages is out of date. Its document is made
        // once for all of its pages.
        let jobs: Vec<OnceCell<Rehearsed<'a>>> =
            summaries.iter().map(|_| OnceCell::new()).collect();
        let documents: Vec<OnceCell<JobDocument<'_, 'a>>> =
            summaries.iter().map(|_| OnceCell::new()).collect();
        let document = |machine_index: usize| {
            documents[machine_index].get_or_init(|| {
                let rehearsed = jobs[machine_index].get_or_init(|| {
                    let summary = summaries[machine_index];
                    let remedied_faults = summary.remedied_faults.clone();
                    let job = factory.job(summary.procedure, summary.machine, remedied_faults);
                    let rehearsal = rehearsal::rehearse(&job, |_| {});
                    Rehearsed { job, rehearsal }
                });
                JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, self.output)
            })
        };
        let kinds = self.selection.kinds();
        let kinds: Vec<SheetKind> = SheetKind::OF_JOB
            .into_iter()
            .filter(|kind| kinds.contains(kind))
            .collect();
        for (machine_index, summary) in summaries.iter().enumerate() {
            for kind in &kinds {
                let nav = nav_of_job_sheet(site, order, (index, machine_index), *kind);
                let outdated = self.keep_current_files(summary, *kind, nav, digests[machine_index]);
                if outdated.needs_pdf || outdated.needs_html {
                    self.make_job_sheet(document(machine_index), outdated, digests[machine_index])?;
                }
                self.progress.page_done();
            }
        }
        let page = PageId::Procedure(summaries[0].procedure.id.clone());
        if !self.output.includes(&page) {
            return Ok(());
        }
        let path = self.paths.path(&page);
        let mut digest = self.inputs.html().with("procedure");
        for (summary, job_digest) in summaries.iter().zip(&digests) {
            digest.add(*job_digest);
            for kind in &kinds {
                let sheet = PageId::JobSheet(*kind, summary_id(summary));
                digest.add(if self.has_pdf(&self.paths.path(&sheet)) {
                    "pdf"
                } else {
                    ""
                });
            }
        }
        let key = OutputKey {
            inputs: Some(digest.finish()),
            ..OutputKey::default()
        };
        if !self.keep_html(&path, &key)
            && let Some(page) = site::procedure(site, summaries, document(0))
        {
            let addresses = self.addresses_of_page(&page);
            let text = self.html.page(&page, &addresses)?;
            self.put_html(&path, &text, key)?;
        }
        self.progress.page_done();
        Ok(())
    }

    /// Keeps the files of a sheet that are up to date, and returns which are not.
    fn keep_current_files(
        &self,
        job: &Summary<'_>,
        kind: SheetKind,
        nav: Nav,
        digest: Fingerprint,
    ) -> OutdatedSheet {
        let page = PageId::JobSheet(kind, summary_id(job));
        let path = self.paths.path(&page);
        self.record_sheet(&path);
        let pdf = OutputKey {
            inputs: Some(self.inputs.pdf().with(kind.name()).with(digest).finish()),
            content: None,
            tool: self.tool.map(str::to_owned),
        };
        let has_pdf = self.keep_pdf(&path, &pdf, |old| old.inputs == pdf.inputs);
        // Without a typesetter, a PDF of an earlier run still stays if its content is the same. To compare
        // the content, the sheet must be made.
        let may_be_kept = self.staged.is_recorded(&format!("{path}.pdf"));
        let needs_pdf = !has_pdf && (self.runner.is_some() || may_be_kept);
        let nav_digest = Fingerprint::of(&nav);
        let html = self.html_key(kind, digest, nav_digest, has_pdf);
        let needs_html = needs_pdf || !self.keep_html(&path, &html);
        OutdatedSheet {
            kind,
            path,
            nav,
            nav_digest,
            pdf,
            needs_pdf,
            needs_html,
        }
    }

    /// Makes the outdated files of a job's sheet.
    fn make_job_sheet(
        &self,
        document: &JobDocument<'_, '_>,
        outdated: OutdatedSheet,
        digest: Fingerprint,
    ) -> Result<(), PublishError> {
        let Some(sheet) = document.sheet(outdated.kind) else {
            return Ok(());
        };
        if outdated.needs_pdf {
            let digest = Fingerprint::of(&sheet);
            self.make_pdf(&sheet, digest, &outdated.path, outdated.pdf)?;
        }
        let has_pdf = self.has_pdf(&outdated.path);
        let key = self.html_key(outdated.kind, digest, outdated.nav_digest, has_pdf);
        if outdated.needs_html && !self.keep_html(&outdated.path, &key) {
            let addresses = self.addresses_of_sheet(&sheet, &outdated.nav);
            let text = self.html.sheet(&sheet, &outdated.nav, &addresses)?;
            self.put_html(&outdated.path, &text, key)?;
        }
        Ok(())
    }
}
