//! Progress on a terminal, nothing where there is none; and what each stage took.

use crate::publish::Progress;
use indicatif::{ProgressBar, ProgressStyle};
use std::fmt::Write as _;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// A line that says how many pages are made. It hides itself when standard error is no terminal.
pub(super) struct Bar {
    line: ProgressBar,
    /// When each stage began.
    stages: Mutex<Vec<(&'static str, Instant)>>,
}

impl Bar {
    pub(super) fn new() -> Bar {
        let line = ProgressBar::no_length();
        if let Ok(style) = ProgressStyle::with_template("{pos} of {len} pages {wide_bar} {eta}") {
            line.set_style(style);
        }
        Bar {
            line,
            stages: Mutex::default(),
        }
    }

    pub(super) fn finish(&self) {
        self.line.finish_and_clear();
    }

    /// What each stage took up to now, a line each.
    pub(super) fn table(&self) -> String {
        let stages = self.stages.lock().unwrap_or_else(PoisonError::into_inner);
        let now = now();
        let ends = stages.iter().skip(1).map(|(_, began)| *began).chain([now]);
        let mut table = String::new();
        let mut row = |stage: &str, took: Duration| {
            let _ = writeln!(table, "{:>9.1} ms  {stage}", took.as_secs_f64() * 1e3);
        };
        for ((stage, began), end) in stages.iter().zip(ends) {
            row(stage, end.duration_since(*began));
        }
        if let Some((_, began)) = stages.first() {
            row("all of it", now.duration_since(*began));
        }
        table
    }
}

impl Progress for Bar {
    fn expect(&self, pages: usize) {
        self.line.set_length(pages as u64);
        // Time left is shown while one page takes long, too.
        self.line.enable_steady_tick(Duration::from_millis(200));
    }

    fn made(&self) {
        self.line.inc(1);
    }

    fn begins(&self, stage: &'static str) {
        let mut stages = self.stages.lock().unwrap_or_else(PoisonError::into_inner);
        stages.push((stage, now()));
    }
}

#[allow(
    clippy::disallowed_methods,
    reason = "what is timed is shown to whoever asked, and has no say in any page"
)]
fn now() -> Instant {
    Instant::now()
}
