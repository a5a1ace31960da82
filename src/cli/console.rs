//! Output to the standard streams.
//!
//! Colours are removed when the stream does not support them. A closed pipe (`benchleaf check | head`) is not an error. Any
//! other failure to write to standard output is remembered, and ends the program with the status of a command that could
//! not run: what was to be read is not there. Failures on standard error are ignored, because nothing can report them.

use clap::ColorChoice;
use std::io::{self, Write as _};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

/// Whether summaries and progress are left out.
static IS_QUIET: AtomicBool = AtomicBool::new(false);

/// Leaves out summaries and progress from now on, if `is_quiet`.
pub(super) fn set_quiet(is_quiet: bool) {
    IS_QUIET.store(is_quiet, Ordering::Relaxed);
}

pub(super) fn is_quiet() -> bool {
    IS_QUIET.load(Ordering::Relaxed)
}

/// Sets whether the streams are coloured. `Auto` leaves it to the stream and to the environment: `NO_COLOR`,
/// `CLICOLOR_FORCE` and others.
pub(super) fn set_color(when: ColorChoice) {
    let choice = match when {
        ColorChoice::Auto => anstream::ColorChoice::Auto,
        ColorChoice::Always => anstream::ColorChoice::Always,
        ColorChoice::Never => anstream::ColorChoice::Never,
    };
    choice.write_global();
}

/// Why the first text that could not be written was not.
static FAILURE: Mutex<Option<io::Error>> = Mutex::new(None);

pub(super) fn print(text: &str) {
    remember(anstream::stdout().write_all(text.as_bytes()));
}

/// Prints what a command has done, unless it is to be quiet. A command whose result is a text uses [`print()`].
pub(super) fn print_summary(text: &str) {
    if !is_quiet() {
        print(text);
    }
}

/// Writes what is buffered. Returns why standard output could not be written, if anything failed.
pub(super) fn finish() -> Option<io::Error> {
    remember(anstream::stdout().flush());
    FAILURE
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
        .take()
}

/// Remembers why a text could not be written.
pub(super) fn remember(result: io::Result<()>) {
    let Err(error) = result else { return };
    if error.kind() != io::ErrorKind::BrokenPipe {
        let mut failure = FAILURE.lock().unwrap_or_else(PoisonError::into_inner);
        failure.get_or_insert(error);
    }
}

pub(super) fn print_error(text: &str) {
    let _ = anstream::stderr().write_all(text.as_bytes());
}
