//! Output to the standard streams.
//!
//! Colours are removed when the stream does not support them. A closed pipe (`benchleaf check | head`) is not an error. Any
//! other failure to write to standard output is remembered, and ends the program with the status of a command that could
//! not run: what was to be read is not there. Failures on standard error are ignored, because nothing can report them.

use std::io::{self, Write as _};
use std::sync::Mutex;
use std::sync::PoisonError;

/// Why the first text that could not be written was not.
static FAILURE: Mutex<Option<io::Error>> = Mutex::new(None);

pub(super) fn print(text: &str) {
    remember(anstream::stdout().write_all(text.as_bytes()));
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
