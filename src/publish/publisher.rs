//! Shared by all kinds of pages: keeps a file of an earlier run, or writes a new one.

use super::inputs::EditionInputs;
use super::links::Links;
use super::{Progress, PublishError, Selection};
use crate::Sources;
use crate::cache::Fingerprint;
use crate::output::{OutputKey, StagedWrite};
use crate::page::{OutputContext, Sheet, SheetKind};
use crate::render::{Addresses, Html, Paths, RenderError, TypstRunner};
use crate::sheet::Summary;
use crate::site::{Nav, SitePage};
use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

/// Publishes the pages of one edition.
pub(super) struct Publisher<'p, 'a> {
    pub(super) sources: &'a Sources,
    pub(super) jobs: &'p [Summary<'a>],
    pub(super) selection: &'p Selection,
    pub(super) output: &'p OutputContext,
    pub(super) paths: Paths<'p>,
    pub(super) inputs: EditionInputs,
    pub(super) html: Html,
    pub(super) runner: Option<&'p TypstRunner<'p>>,
    /// Name and version of the program that makes PDFs. None if this run makes no PDFs.
    pub(super) tool: Option<&'p str>,
    pub(super) staged: &'p StagedWrite<'p>,
    pub(super) links: &'p Links,
    pub(super) progress: &'p dyn Progress,
    /// The PDFs that could not be made, each with its path. After the first, the run makes the others to name all that
    /// fail, and writes nothing.
    pub(super) failed: Mutex<Vec<(String, RenderError)>>,
    /// The paths of the sheets of this edition, without extension.
    pub(super) sheets: Mutex<BTreeSet<String>>,
}

impl Publisher<'_, '_> {
    pub(super) fn html_key(
        &self,
        kind: SheetKind,
        digest: Fingerprint,
        nav: Fingerprint,
        has_pdf: bool,
    ) -> OutputKey {
        let has_pdf = if has_pdf { "pdf" } else { "" };
        let inputs = self.inputs.html().with(kind.name()).with(digest);
        let inputs = inputs.with(nav).with(has_pdf);
        OutputKey {
            inputs: Some(inputs.finish()),
            ..OutputKey::default()
        }
    }

    pub(super) fn record_sheet(&self, path: &str) {
        let mut sheets = self.sheets.lock().unwrap_or_else(PoisonError::into_inner);
        sheets.insert(path.to_owned());
    }

    pub(super) fn has_pdf(&self, path: &str) -> bool {
        self.staged.has(&format!("{path}.pdf"))
    }

    /// Keeps a PDF of an earlier run if `is_current` accepts its key, and either the same program made it
    /// or this run makes no PDFs. Returns whether it was kept.
    pub(super) fn keep_pdf(
        &self,
        path: &str,
        key: &OutputKey,
        is_current: impl Fn(&OutputKey) -> bool,
    ) -> bool {
        let file = format!("{path}.pdf");
        let is_current =
            |old: &OutputKey| is_current(old) && (self.tool.is_none() || old.tool == key.tool);
        if self.runner.is_some() {
            self.staged.keep(&file, key, is_current)
        } else {
            self.staged.keep_unverified(&file, key, is_current)
        }
    }

    pub(super) fn keep_html(&self, path: &str, key: &OutputKey) -> bool {
        let path = format!("{path}.html");
        let is_kept = self.staged.keep(&path, key, |old| old.inputs == key.inputs);
        if is_kept {
            self.links.add_kept(path);
        }
        is_kept
    }

    pub(super) fn put_html(
        &self,
        path: &str,
        text: &str,
        key: OutputKey,
    ) -> Result<(), PublishError> {
        let path = format!("{path}.html");
        self.links.add_written(&path, text);
        Ok(self.staged.put(&path, text.as_bytes(), key)?)
    }

    /// Makes a sheet's PDF, or keeps one with the same content. `digest` is the fingerprint of the sheet. A PDF that
    /// can't be made is recorded as failed.
    pub(super) fn make_pdf(
        &self,
        sheet: &Sheet,
        digest: Fingerprint,
        path: &str,
        key: OutputKey,
    ) -> Result<(), PublishError> {
        let key = OutputKey {
            content: Some(self.inputs.pdf().with(digest).finish()),
            ..key
        };
        if self.keep_pdf(path, &key, |old| old.content == key.content) {
            return Ok(());
        }
        let Some(runner) = self.runner else {
            return Ok(());
        };
        let address = self.paths.web_address(&sheet.page);
        match runner.set(sheet, &self.output.edition.words, path, address.as_deref()) {
            Ok(bytes) => self.staged.put(&format!("{path}.pdf"), &bytes, key)?,
            Err(error) => self.record_failure(format!("{path}.pdf"), error),
        }
        Ok(())
    }

    /// The addresses of the link targets and figures on a sheet's page.
    pub(super) fn addresses_of_sheet(&self, sheet: &Sheet, nav: &Nav) -> Addresses {
        let has_pdf = |path: &str| self.has_pdf(path);
        Html::addresses_of_sheet(self.paths, sheet, nav, &has_pdf)
    }

    /// The addresses of the link targets and figures on a page of the site.
    pub(super) fn addresses_of_page(&self, page: &SitePage) -> Addresses {
        let has_pdf = |path: &str| self.has_pdf(path);
        Html::addresses_of_page(self.paths, page, &has_pdf)
    }

    /// Records that a PDF could not be made.
    pub(super) fn record_failure(&self, path: String, error: RenderError) {
        let mut failed = self.failed.lock().unwrap_or_else(PoisonError::into_inner);
        failed.push((path, error));
    }
}
