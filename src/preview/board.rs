//! What the server's threads know: the pages, what was last found, and when that changes.

use super::Outcome;
use super::build::Built;
use super::frame::Frame;
use super::place::find;
use crate::report::{self, Entry};
use serde::Serialize;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How many findings are laid over a page; the terminal lists all.
const MOST: usize = 40;

/// What the last making of the pages came to.
#[derive(Debug, Default, PartialEq, Eq, Serialize)]
pub(super) struct Run {
    /// Whether pages have been made at all.
    pub(super) built: bool,
    /// Whether the pages are those of an earlier run, because nothing was made by the last.
    pub(super) kept: bool,
    /// How many there are of each level.
    pub(super) errors: usize,
    pub(super) warnings: usize,
    pub(super) advice: usize,
    /// The first of them, errors before all others.
    pub(super) findings: Vec<Entry>,
    /// How many more there are.
    pub(super) more: usize,
}

/// What a page is told: its own state, and that of all.
#[derive(Debug, Serialize)]
pub(super) struct State<'r> {
    /// A digest of the page; none where there is no such page.
    pub(super) page: Option<String>,
    #[serde(flatten)]
    pub(super) run: &'r Run,
}

/// The board: written by the one who makes pages, read by all who serve them.
#[derive(Debug)]
pub(super) struct Board {
    folder: PathBuf,
    now: Mutex<Now>,
    changed: Condvar,
}

#[derive(Debug)]
struct Now {
    version: u64,
    has_ended: bool,
    run: Arc<Run>,
    frame: Arc<Frame>,
}

/// What a wait on the board ended with.
#[derive(Debug)]
pub(super) enum Heard {
    /// There is something new: what to wait on from now on, and the run.
    New(u64, Arc<Run>),
    /// Nothing, for so long that it is time to see whether the listener is still there.
    Nothing,
    /// The preview has ended.
    End,
}

impl Board {
    /// A board of the pages in a folder, of which there are none yet.
    pub(super) fn new(folder: &Path) -> io::Result<Board> {
        Ok(Board {
            folder: folder.canonicalize()?,
            now: Mutex::new(Now {
                version: 0,
                has_ended: false,
                run: Arc::default(),
                frame: Arc::default(),
            }),
            changed: Condvar::new(),
        })
    }

    /// A thread that died held nothing half done: each writes a whole state.
    fn now(&self) -> MutexGuard<'_, Now> {
        self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts up what was made, and tells all who listen where it is anything new.
    pub(super) fn show(&self, built: Built) -> Outcome {
        let mut findings = built.trouble;
        let mut text = built.text;
        for trouble in &findings {
            text.push_str(&report::trouble(&trouble.message));
        }
        findings.extend(built.findings);
        let count = |level: &str| findings.iter().filter(|one| one.level == level).count();
        let mut now = self.now();
        let mut run = Run {
            built: now.run.built || built.changed.is_some(),
            kept: built.changed.is_none(),
            errors: count("error"),
            warnings: count("warning"),
            advice: count("advice"),
            more: findings.len().saturating_sub(MOST),
            findings,
        };
        run.findings.truncate(MOST);
        let frame = now.frame.with(built.language, built.words);
        if run != *now.run || built.changed.is_some_and(|changed| changed > 0) {
            now.version += 1;
            now.run = Arc::new(run);
            self.changed.notify_all();
        }
        now.frame = Arc::new(frame);
        Outcome {
            findings: text,
            changed: built.changed,
        }
    }

    /// Ends all waiting.
    pub(super) fn end(&self) {
        self.now().has_ended = true;
        self.changed.notify_all();
    }

    pub(super) fn has_ended(&self) -> bool {
        self.now().has_ended
    }

    pub(super) fn run(&self) -> Arc<Run> {
        Arc::clone(&self.now().run)
    }

    pub(super) fn frame(&self) -> Arc<Frame> {
        Arc::clone(&self.now().frame)
    }

    /// Waits until there is something that a listener who has heard of `version` has not.
    pub(super) fn wait(&self, version: Option<u64>, at_most: Duration) -> Heard {
        let is_known = |now: &mut Now| !now.has_ended && Some(now.version) == version;
        let waited = self
            .changed
            .wait_timeout_while(self.now(), at_most, is_known);
        let (now, _) = waited.unwrap_or_else(PoisonError::into_inner);
        if now.has_ended {
            Heard::End
        } else if Some(now.version) == version {
            Heard::Nothing
        } else {
            Heard::New(now.version, Arc::clone(&now.run))
        }
    }

    /// The file that a request's path names, if there is one to be served.
    pub(super) fn file(&self, path: &str) -> Option<PathBuf> {
        find(&self.folder, path)
    }

    /// The state of a page, by its request's path.
    pub(super) fn state<'r>(&self, path: &str, run: &'r Run) -> State<'r> {
        let bytes = self.file(path).and_then(|file| fs::read(file).ok());
        let page = bytes.map(|bytes| digest(&bytes));
        State { page, run }
    }
}

/// A short digest, by which a page knows whether it has changed.
pub(super) fn digest(bytes: &[u8]) -> String {
    let mut digest = blake3::hash(bytes).to_hex().to_string();
    digest.truncate(16);
    digest
}
