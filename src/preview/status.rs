//! The status that is sent to the preview's script in a page.

use crate::cache::Fingerprint;
use crate::report::FindingEntry;
use serde::Serialize;

/// The result of the last build, for all pages.
#[derive(Debug, Default, PartialEq, Eq, Serialize)]
pub(super) struct BuildStatus {
    /// Whether any build so far has made pages.
    pub(super) built: bool,
    /// Whether the last build made no pages, so that those of an earlier one are shown.
    pub(super) kept: bool,
    pub(super) errors: usize,
    pub(super) warnings: usize,
    pub(super) advice: usize,
    /// The first findings, errors before all others.
    pub(super) findings: Vec<FindingEntry>,
    /// The number of findings that are not in `findings`.
    pub(super) more: usize,
}

/// The state of one page.
#[derive(Debug, Serialize)]
pub(super) struct PageStatus<'b> {
    /// The page's digest. None if there is no such page.
    pub(super) page: Option<String>,
    #[serde(flatten)]
    pub(super) build: &'b BuildStatus,
}

/// The fingerprint of a page. It changes when the page does.
pub(super) fn digest(page: &[u8]) -> String {
    Fingerprint::of_bytes(page).to_string()
}
