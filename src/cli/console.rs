//! The standard streams. Colours are left out where they would not be shown, and a reader that has
//! gone away is not an error.

use std::io::Write as _;

/// Writes text to standard output.
pub(super) fn print(text: &str) {
    let _ = anstream::stdout().write_all(text.as_bytes());
}

/// Writes text to standard error.
pub(super) fn print_error(text: &str) {
    let _ = anstream::stderr().write_all(text.as_bytes());
}
