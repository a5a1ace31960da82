//! The leaves of jobs, and the page of each procedure.

use super::PublishError;
use super::inputs::{Digest, Inputs};
use super::publisher::Publisher;
use crate::dry_run;
use crate::job::{self, Again};
use crate::output::Key;
use crate::page::{self, Leaf, LeafKind, procedure_path};
use crate::sheet::{self, Summary};
use crate::site::{self, Nav, Site, nav_of_leaf};
use crate::{Rehearsed, Sources};
use rayon::prelude::*;

/// A leaf of a job that is to be seen to.
struct Due {
    kind: LeafKind,
    /// In this edition.
    path: String,
    nav: Nav,
    pdf: Key,
    needs_pdf: bool,
    needs_html: bool,
}

impl<'a> Publisher<'_, 'a> {
    /// The leaves of every job, and the procedures' pages.
    pub(super) fn procedures(&self, inputs: &Inputs) -> Result<(), PublishError> {
        let has_pdf = |path: &str| self.has_pdf(path);
        let site = Site {
            shop: &self.sources.shop,
            jobs: self.jobs,
            faults: &[],
            setting: self.setting,
            has_pdf: &has_pdf,
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

    /// What is made of one procedure on all its machines.
    fn procedure(
        &self,
        site: &Site<'_, 'a>,
        order: &[Vec<&Summary<'a>>],
        at: usize,
        again: Again<'a, '_>,
        inputs: &Inputs,
    ) -> Result<(), PublishError> {
        let summaries = &order[at];
        let digests: Vec<Digest> = summaries
            .iter()
            .map(|job| inputs.of_job(job, self.setting))
            .collect();
        // As long as nobody asked for it, the job is not made.
        let mut jobs: Vec<Option<Rehearsed<'a>>> = summaries.iter().map(|_| None).collect();
        let mut sheets: Vec<Option<Leaf>> = vec![None; summaries.len()];
        let make = |at: usize, jobs: &mut Vec<Option<Rehearsed<'a>>>| {
            if jobs[at].is_none() {
                let summary = summaries[at];
                let job = again.job(summary.procedure, summary.machine, summary.cures.clone());
                let rehearsal = dry_run::rehearse(&job, |_| {});
                jobs[at] = Some(Rehearsed { job, rehearsal });
            }
        };
        let kinds = self.selection.kinds();
        let kinds: Vec<LeafKind> = LeafKind::OF_JOB
            .into_iter()
            .filter(|kind| kinds.contains(kind))
            .collect();
        for (one, summary) in summaries.iter().enumerate() {
            for kind in &kinds {
                let due = self.due(summary, *kind, &digests[one]);
                if due.needs_pdf || due.needs_html {
                    make(one, &mut jobs);
                    if let Some(job) = &jobs[one] {
                        let leaf = self.leaf_of_job(job, due, &digests[one])?;
                        if leaf.kind == LeafKind::ShopSheet {
                            sheets[one] = Some(leaf);
                        }
                    }
                }
                self.progress.made();
            }
        }
        if !self
            .setting
            .is_made(&procedure_path(&summaries[0].procedure.id))
        {
            return Ok(());
        }
        let path = self
            .edition
            .path(&procedure_path(&summaries[0].procedure.id));
        let mut digest = self.common.html.with(&["procedure"]);
        for (one, summary) in summaries.iter().enumerate() {
            digest.add(&digests[one].text());
            for kind in &kinds {
                let path = page::path(&summary.machine.id, &summary.procedure.id, *kind);
                digest.add(if self.has_pdf(&self.edition.path(&path)) {
                    "pdf"
                } else {
                    ""
                });
            }
        }
        for neighbour in [at.checked_sub(1), Some(at + 1)] {
            let neighbour = neighbour.and_then(|at| order.get(at));
            let procedure = neighbour.map(|jobs| jobs[0].procedure);
            digest.add(procedure.map_or("", |one| &one.id));
            digest.add(procedure.map_or("", |one| &one.title.value));
        }
        let key = Key {
            inputs: digest.text(),
            ..Key::default()
        };
        if !self.keep_html(&path, &key) {
            for one in 0..summaries.len() {
                make(one, &mut jobs);
            }
            let sheet = |one: &Rehearsed<'_>| {
                sheet::make(LeafKind::ShopSheet, &one.job, &one.rehearsal, self.setting)
            };
            let jobs = jobs.iter().flatten().zip(sheets);
            let sheets = jobs.map(|(one, made)| (&one.job, made.unwrap_or_else(|| sheet(one))));
            let page = site::procedure(site, order, at, sheets.collect());
            self.put_html(&path, &self.html.page(page, &self.edition.prefix)?, key)?;
        }
        self.progress.made();
        Ok(())
    }

    /// What is to be done for a leaf of a job; what is up to date is kept.
    fn due(&self, job: &Summary<'_>, kind: LeafKind, digest: &Digest) -> Due {
        let path = self
            .edition
            .path(&page::path(&job.machine.id, &job.procedure.id, kind));
        self.note_leaf(&path);
        let pdf = Key {
            inputs: self.common.pdf.with(&[kind.slug(), &digest.text()]).text(),
            content: None,
            tool: self.tool.map(str::to_owned),
        };
        let has_pdf = self.keep_pdf(&path, &pdf, |old| old.inputs == pdf.inputs);
        // A PDF of an earlier run may stay if it says the same: only the leaf tells.
        let may_stay = self.staged.was_there(&format!("{path}.pdf"));
        let needs_pdf = !has_pdf && (self.runner.is_some() || may_stay);
        let nav = nav_of_leaf(
            self.setting,
            Some((&job.procedure.id, &job.procedure.title.value)),
            Some((&job.machine.id, &job.machine.name.value)),
            &page::path(&job.machine.id, &job.procedure.id, kind),
        );
        let html = self.html_key(kind, digest, &nav, has_pdf);
        let needs_html = needs_pdf || !self.keep_html(&path, &html);
        Due {
            kind,
            path,
            nav,
            pdf,
            needs_pdf,
            needs_html,
        }
    }

    /// Makes a leaf of a job, and returns it.
    fn leaf_of_job(
        &self,
        one: &Rehearsed<'_>,
        due: Due,
        digest: &Digest,
    ) -> Result<Leaf, PublishError> {
        let leaf = sheet::make(due.kind, &one.job, &one.rehearsal, self.setting);
        if due.needs_pdf {
            self.pdf(&leaf, due.pdf)?;
        }
        let has_pdf = self.has_pdf(&due.path);
        let key = self.html_key(due.kind, digest, &due.nav, has_pdf);
        if due.needs_html && !self.keep_html(&due.path, &key) {
            let text = self.html.leaf(&leaf, &due.nav, has_pdf)?;
            self.put_html(&due.path, &text, key)?;
        }
        Ok(leaf)
    }
}
