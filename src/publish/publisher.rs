//! The pages of one edition: what all kinds of them need to be kept or made.

use super::inputs::{Common, Digest};
use super::links::Links;
use super::{Progress, PublishError, Selection};
use crate::Sources;
use crate::finding::{Finding, Findings};
use crate::output::{Key, StagedWrite};
use crate::page::{Edition, Leaf, LeafKind, Setting};
use crate::render::{Html, RenderError, TypstRunner};
use crate::rules::printing;
use crate::sheet::Summary;
use crate::site::Nav;
use std::collections::BTreeSet;
use std::sync::{Mutex, PoisonError};

/// Publishes one edition.
pub(super) struct Publisher<'p, 'a> {
    pub(super) sources: &'a Sources,
    pub(super) jobs: &'p [Summary<'a>],
    pub(super) selection: &'p Selection,
    pub(super) edition: &'p Edition,
    pub(super) setting: &'p Setting,
    pub(super) common: Common,
    pub(super) html: Html,
    pub(super) runner: Option<&'p TypstRunner>,
    /// What PDFs are made with; none where none are made in this run.
    pub(super) tool: Option<&'p str>,
    pub(super) staged: &'p StagedWrite<'p>,
    pub(super) links: &'p Links,
    pub(super) progress: &'p dyn Progress,
    pub(super) findings: Mutex<Findings>,
    /// The paths of the leaves, in this edition.
    pub(super) leaves: Mutex<BTreeSet<String>>,
}

impl Publisher<'_, '_> {
    pub(super) fn html_key(
        &self,
        kind: LeafKind,
        digest: &Digest,
        nav: &Nav,
        has_pdf: bool,
    ) -> Key {
        let has_pdf = if has_pdf { "pdf" } else { "" };
        let nav = Digest::of_value(nav).text();
        let texts = [kind.slug(), &digest.text(), &nav, has_pdf];
        Key {
            inputs: self.common.html.with(&texts).text(),
            ..Key::default()
        }
    }

    pub(super) fn note_leaf(&self, path: &str) {
        let mut leaves = self.leaves.lock().unwrap_or_else(PoisonError::into_inner);
        leaves.insert(path.to_owned());
    }

    pub(super) fn has_pdf(&self, path: &str) -> bool {
        self.staged.has(&format!("{path}.pdf"))
    }

    /// Keeps a leaf's PDF, if its key will do: where no PDFs are made, one that was made with any
    /// program.
    pub(super) fn keep_pdf(&self, path: &str, key: &Key, will_do: impl Fn(&Key) -> bool) -> bool {
        self.staged.keep(&format!("{path}.pdf"), key, |old| {
            will_do(old) && (self.tool.is_none() || old.tool == key.tool)
        })
    }

    pub(super) fn keep_html(&self, path: &str, key: &Key) -> bool {
        let path = format!("{path}.html");
        let is_kept = self.staged.keep(&path, key, |old| old.inputs == key.inputs);
        if is_kept {
            self.links.kept(path);
        }
        is_kept
    }

    pub(super) fn put_html(&self, path: &str, text: &str, key: Key) -> Result<(), PublishError> {
        let path = format!("{path}.html");
        self.links.read(&path, text);
        Ok(self.staged.put(&path, text.as_bytes(), key)?)
    }

    /// Makes a leaf's PDF, or keeps one that says the same; what can't be made is a finding.
    pub(super) fn pdf(&self, leaf: &Leaf, key: Key) -> Result<(), PublishError> {
        let path = &leaf.head.path;
        let key = Key {
            content: Some(
                self.common
                    .pdf
                    .with(&[&Digest::of_value(leaf).text()])
                    .text(),
            ),
            ..key
        };
        if self.keep_pdf(path, &key, |old| old.content == key.content) {
            return Ok(());
        }
        let Some(runner) = self.runner else {
            return Ok(());
        };
        match runner.set(leaf, &self.edition.words) {
            Ok(bytes) => self.staged.put(&format!("{path}.pdf"), &bytes, key)?,
            Err(error) => self.cant_set(&format!("{path}.pdf"), &error),
        }
        Ok(())
    }

    pub(super) fn cant_set(&self, path: &str, error: &RenderError) {
        let message = format!("`{path}` can't be set: {error}");
        let finding = Finding::new(&printing::TYPESETTING_FAILED, message);
        let mut findings = self.findings.lock().unwrap_or_else(PoisonError::into_inner);
        findings.push(finding);
    }
}
