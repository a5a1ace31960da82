//! Progress on a terminal; nothing where there is none.

use crate::publish::Progress;
use indicatif::{ProgressBar, ProgressStyle};
use std::time::Duration;

/// A line that says how many pages are made. It hides itself when standard error is no terminal.
pub(super) struct Bar(ProgressBar);

impl Bar {
    pub(super) fn new() -> Bar {
        let bar = ProgressBar::no_length();
        if let Ok(style) = ProgressStyle::with_template("{pos} of {len} pages {wide_bar} {eta}") {
            bar.set_style(style);
        }
        Bar(bar)
    }

    pub(super) fn finish(&self) {
        self.0.finish_and_clear();
    }
}

impl Progress for Bar {
    fn expect(&self, pages: usize) {
        self.0.set_length(pages as u64);
        // Time left is shown while one page takes long, too.
        self.0.enable_steady_tick(Duration::from_millis(200));
    }

    fn made(&self) {
        self.0.inc(1);
    }
}
