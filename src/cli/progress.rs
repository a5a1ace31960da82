//! A progress bar, and the duration of each stage.

use super::console::is_quiet;
use crate::publish::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::fmt::Write as _;
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// How often the bar is drawn.
const TICK: Duration = Duration::from_millis(200);

/// A bar that counts the pages. It is hidden when standard error is not a terminal, and with `--quiet`.
pub(super) struct Bar {
    pages: ProgressBar,
    /// The stages in order, each with the time at which it began.
    stages: Mutex<Vec<(&'static str, Instant)>>,
}

impl Bar {
    pub(super) fn new() -> Bar {
        let bar = ProgressBar::no_length();
        if is_quiet() {
            bar.set_draw_target(ProgressDrawTarget::hidden());
        }
        if let Ok(style) = ProgressStyle::with_template("{pos} of {len} pages {wide_bar} {eta}") {
            bar.set_style(style);
        }
        Bar {
            pages: bar,
            stages: Mutex::default(),
        }
    }

    pub(super) fn finish(&self) {
        self.pages.finish_and_clear();
    }

    /// One line for each stage with its duration, and a line with their sum. The last stage ends now.
    pub(super) fn table(&self) -> String {
        let stages = self.stages.lock().unwrap_or_else(PoisonError::into_inner);
        let now = now();
        let ends = stages.iter().skip(1).map(|(_, began)| *began).chain([now]);
        let mut table = String::new();
        let mut row = |stage: &str, duration: Duration| {
            let _ = writeln!(table, "{:>9.1} ms  {stage}", duration.as_secs_f64() * 1e3);
        };
        for ((stage, began), end) in stages.iter().zip(ends) {
            row(stage, end.duration_since(*began));
        }
        if let Some((_, began)) = stages.first() {
            row("total", now.duration_since(*began));
        }
        table
    }
}

impl Progress for Bar {
    fn set_total(&self, pages: usize) {
        self.pages.set_length(pages as u64);
        if self.pages.is_hidden() {
            return;
        }
        // Keeps the estimated time current while a single page takes long. The bar's own method would panic if there
        // were no thread for it; without one, the bar only moves with the pages.
        let pages = self.pages.clone();
        let ticking = thread::Builder::new().spawn(move || {
            while !pages.is_finished() {
                pages.tick();
                thread::sleep(TICK);
            }
        });
        drop(ticking);
    }

    fn page_done(&self) {
        self.pages.inc(1);
    }

    fn begin_stage(&self, stage: &'static str) {
        let mut stages = self.stages.lock().unwrap_or_else(PoisonError::into_inner);
        stages.push((stage, now()));
    }
}

#[allow(
    clippy::disallowed_methods,
    reason = "durations are only printed and do not change any page"
)]
fn now() -> Instant {
    Instant::now()
}
