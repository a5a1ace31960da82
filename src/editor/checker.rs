//! The thread of a sources folder: checks it, and publishes what has changed.

use super::diagnostics::{SHOP_FILE, diagnostics};
use super::encoding::Encoding;
use super::shop_folder::{ShopFolder, Task};
use super::transport::Outbox;
use crate::finding::Findings;
use crate::recheck::{Outdated, Recheck};
use lsp_types::notification::{LogMessage, PublishDiagnostics};
use lsp_types::{Diagnostic, LogMessageParams, MessageType, PublishDiagnosticsParams};
use std::collections::BTreeMap;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::thread::JoinHandle;

/// Starts the thread of a folder. It ends after [`ShopFolder::close`].
pub(super) fn start(
    folder: Arc<ShopFolder>,
    encoding: Encoding,
    outbox: Outbox,
) -> io::Result<JoinHandle<()>> {
    let mut checker = Checker {
        folder,
        encoding,
        outbox,
        recheck: Recheck::default(),
        published: BTreeMap::new(),
    };
    let thread = std::thread::Builder::new().name("editor-checker".to_owned());
    thread.spawn(move || {
        while checker.work() {}
        checker.clear();
    })
}

struct Checker {
    folder: Arc<ShopFolder>,
    encoding: Encoding,
    outbox: Outbox,
    recheck: Recheck,
    /// What the client has, by path: the version of the document, and the diagnostics.
    published: BTreeMap<String, (Option<i32>, Vec<Diagnostic>)>,
}

impl Checker {
    /// Does the next task. Returns false after the last.
    fn work(&mut self) -> bool {
        match self.folder.next_task() {
            Task::Close => return false,
            Task::Read => {
                if catch_unwind(AssertUnwindSafe(|| self.folder.read_from_nothing())).is_err() {
                    self.report_failure();
                }
            }
            Task::Look => {
                if self.folder.is_changed_on_disk() {
                    self.folder.read_all();
                }
            }
            Task::Check(outdated, changes) => {
                if catch_unwind(AssertUnwindSafe(|| self.check(&outdated, changes))).is_err() {
                    // What it was in the middle of may be incomplete.
                    self.recheck.drop_outdated(&Outdated::all());
                    self.report_failure();
                }
            }
        }
        true
    }

    fn report_failure(&self) {
        self.outbox.notify::<LogMessage>(LogMessageParams {
            typ: MessageType::ERROR,
            message: "the check has failed; it is tried again after the next change".to_owned(),
        });
    }

    fn check(&mut self, outdated: &Outdated, changes: u64) {
        let folder = Arc::clone(&self.folder);
        self.recheck.drop_outdated(outdated);
        let sources = folder.sources();
        let Some(read) = sources.get() else {
            folder.set_checked(changes, Arc::new(Findings::default()));
            self.publish(BTreeMap::new());
            return;
        };
        let is_given_up = || folder.changes() != changes;
        let Some(findings) = self.recheck.check(read, None, &is_given_up) else {
            return;
        };
        let diagnostics = diagnostics(&folder, read, &findings, self.encoding);
        folder.set_checked(changes, Arc::new(findings));
        self.publish(diagnostics);
    }

    /// Publishes the diagnostics of the files where they have changed, and of open documents that have changed, so that
    /// the client knows that they have been checked.
    fn publish(&mut self, mut diagnostics: BTreeMap<String, Vec<Diagnostic>>) {
        for path in self.published.keys().chain(self.folder.open().keys()) {
            diagnostics.entry(path.clone()).or_default();
        }
        for (path, diagnostics) in diagnostics {
            let version = self.folder.version(&path);
            let before = self.published.get(&path);
            let has_changed = match before {
                Some((checked, before)) => *before != diagnostics || *checked != version,
                None => !diagnostics.is_empty() || version.is_some(),
            };
            if !has_changed {
                continue;
            }
            let Some(uri) = self.folder.uri(&path) else {
                continue;
            };
            self.outbox
                .notify::<PublishDiagnostics>(PublishDiagnosticsParams {
                    uri,
                    diagnostics: diagnostics.clone(),
                    version,
                });
            if diagnostics.is_empty() && version.is_none() && path != SHOP_FILE {
                self.published.remove(&path);
            } else {
                self.published.insert(path, (version, diagnostics));
            }
        }
    }

    /// Removes the diagnostics of a folder that is closed.
    fn clear(&mut self) {
        let published = std::mem::take(&mut self.published);
        for (path, (_, diagnostics)) in published {
            if let Some(uri) = self.folder.uri(&path).filter(|_| !diagnostics.is_empty()) {
                self.outbox
                    .notify::<PublishDiagnostics>(PublishDiagnosticsParams {
                        uri,
                        diagnostics: Vec::new(),
                        version: None,
                    });
            }
        }
    }
}
