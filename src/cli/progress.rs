//! A progress bar, and the time that each stage took.

use crate::publish::Progress;
use indicatif::{ProgressBar, ProgressStyle};
use std::fmt::Write as _;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// A bar that counts the pages. It is hidden when standard error is not a terminal.
pub(super) struct Bar {
    line: ProgressBar,
    /// The stages, each with the time it began.
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

    /// The duration of each stage until now, one line each.
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
        // Updates the remaining time while a page takes long.
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
    reason = "durations are only shown, and don't change any page"
)]
fn now() -> Instant {
    Instant::now()
}
