//! The state that the builder and the server's threads share.

use super::build::BuildResult;
use super::files::find;
use super::overlay::Overlay;
use super::settings::Outcome;
use super::status::{BuildStatus, PageStatus, ShownFinding, digest};
use crate::report;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// The most findings that are shown over a page. The terminal lists more.
const MAX_FINDINGS: usize = 40;

/// The folder of the pages and the result of the last build. Only one thread writes it.
#[derive(Debug)]
pub(super) struct SharedState {
    folder: PathBuf,
    current: Mutex<Current>,
    changed: Condvar,
}

#[derive(Debug)]
struct Current {
    version: u64,
    has_ended: bool,
    build: Arc<BuildStatus>,
    overlay: Arc<Overlay>,
}

/// The result of [`SharedState::wait`].
#[derive(Debug)]
pub(super) enum Update {
    /// A new build, with its version.
    New(u64, Arc<BuildStatus>),
    /// No new build until the timeout.
    Timeout,
    /// The preview has ended.
    End,
}

impl SharedState {
    /// The state before the first build of pages into a folder.
    pub(super) fn new(folder: &Path) -> io::Result<SharedState> {
        Ok(SharedState {
            folder: folder.canonicalize()?,
            current: Mutex::new(Current {
                version: 0,
                has_ended: false,
                build: Arc::default(),
                overlay: Arc::default(),
            }),
            changed: Condvar::new(),
        })
    }

    /// Locks the state, even if the lock is poisoned: every write leaves a consistent state.
    fn current(&self) -> MutexGuard<'_, Current> {
        self.current.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Sets the result of a build. If it differs from the last one, wakes all waiting threads.
    pub(super) fn set(&self, result: BuildResult) -> Outcome {
        let mut findings = result.failures;
        let mut text = result.text;
        for failure in &findings {
            text.push_str(&report::error_without_rule(&failure.message));
        }
        findings.extend(result.findings);
        let count = |level: &str| {
            let of_level = findings.iter().filter(|finding| finding.level == level);
            of_level.count()
        };
        let rules = crate::rules::all();
        let (errors, warnings, advice) = (count("error"), count("warning"), count("advice"));
        let more = findings.len().saturating_sub(MAX_FINDINGS);
        let shown = findings.into_iter().take(MAX_FINDINGS);
        let mut current = self.current();
        let build = BuildStatus {
            built: current.build.built || result.changed.is_some(),
            kept: result.changed.is_none(),
            errors,
            warnings,
            advice,
            more,
            findings: shown
                .map(|entry| ShownFinding::new(entry, &rules))
                .collect(),
        };
        let overlay = current.overlay.with(result.language, result.words);
        if build != *current.build || result.changed.is_some_and(|changed| changed > 0) {
            current.version += 1;
            current.build = Arc::new(build);
            self.changed.notify_all();
        }
        current.overlay = Arc::new(overlay);
        Outcome {
            findings: text,
            changed: result.changed,
        }
    }

    /// Marks the preview as ended, and wakes all waiting threads.
    pub(super) fn end(&self) {
        self.current().has_ended = true;
        self.changed.notify_all();
    }

    pub(super) fn has_ended(&self) -> bool {
        self.current().has_ended
    }

    pub(super) fn build(&self) -> Arc<BuildStatus> {
        Arc::clone(&self.current().build)
    }

    pub(super) fn overlay(&self) -> Arc<Overlay> {
        Arc::clone(&self.current().overlay)
    }

    /// Waits until the version differs from `known`, the preview ends, or the timeout passes.
    pub(super) fn wait(&self, known: Option<u64>, timeout: Duration) -> Update {
        let is_known = |current: &mut Current| !current.has_ended && Some(current.version) == known;
        let waited = self
            .changed
            .wait_timeout_while(self.current(), timeout, is_known);
        let (current, _) = waited.unwrap_or_else(PoisonError::into_inner);
        if current.has_ended {
            Update::End
        } else if Some(current.version) == known {
            Update::Timeout
        } else {
            Update::New(current.version, Arc::clone(&current.build))
        }
    }

    /// The file that a request's path names. None if no such file can be served.
    pub(super) fn file(&self, path: &str) -> Option<PathBuf> {
        find(&self.folder, path)
    }

    /// The status of the page that a request's path names.
    pub(super) fn page_status<'b>(&self, path: &str, build: &'b BuildStatus) -> PageStatus<'b> {
        let bytes = self.file(path).and_then(|file| fs::read(file).ok());
        let page = bytes.map(|bytes| digest(&bytes));
        PageStatus { page, build }
    }
}
