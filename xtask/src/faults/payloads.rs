//! Publishes texts that would run, load or print something else, and opens the pages in a browser.

use super::Amount;
use super::scene::{expect, finished, text_of};
use crate::TaskError;
use std::path::Path;
use std::process::Command;

/// The families of texts that are always tried; see `tests/browser/payloads.mjs` for all.
const SOME: [&str; 3] = ["elements", "references", "typesetting"];

/// Puts each family of texts into every text field of a tree. Returns the numbers of fields, pages and PDFs.
pub(super) fn open_in_browser(
    program: &Path,
    typst: &Path,
    root: &Path,
    amount: Amount,
) -> Result<[usize; 3], TaskError> {
    let mut command = Command::new("node");
    command
        .arg(root.join("tests/browser/payloads.mjs"))
        .arg(root.join("tests/trees/hand-pump"))
        .args(amount.either(&SOME[..], &[]))
        .env("BENCHLEAF", program)
        .env("BENCHLEAF_TYPST", typst);
    let made = finished(command)?;
    expect(made.status.success(), || text_of(&made))?;
    let printed = String::from_utf8_lossy(&made.stdout).into_owned();
    let counts: Vec<usize> = printed
        .split_whitespace()
        .filter_map(|count| count.parse().ok())
        .collect();
    <[usize; 3]>::try_from(counts).map_err(|_| TaskError(text_of(&made)))
}
