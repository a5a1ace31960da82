//! Output to the standard streams.
//!
//! Colours are removed when the stream does not support them. Write errors are ignored, so that a
//! closed pipe (`benchleaf check | head`) is not an error.

use std::io::Write as _;

pub(super) fn print(text: &str) {
    let _ = anstream::stdout().write_all(text.as_bytes());
}

pub(super) fn print_error(text: &str) {
    let _ = anstream::stderr().write_all(text.as_bytes());
}
