//! The status that is sent to the preview's script in a page.

use crate::cache::Fingerprint;
use crate::finding::Rule;
use crate::render::rule_address;
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
    pub(super) findings: Vec<ShownFinding>,
    /// The number of findings that are not in `findings`.
    pub(super) more: usize,
}

/// A finding, with the address of its rule's page.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub(super) struct ShownFinding {
    #[serde(flatten)]
    pub(super) entry: FindingEntry,
    /// From the folder of the page's language. None for an error without a rule.
    reference: Option<String>,
}

impl ShownFinding {
    /// `rules` are all rules, by name.
    pub(super) fn new(entry: FindingEntry, rules: &[&Rule]) -> ShownFinding {
        let name = entry.rule.as_deref();
        let index = name.and_then(|name| rules.binary_search_by_key(&name, |rule| rule.name).ok());
        ShownFinding {
            reference: index.map(|index| rule_address(rules[index])),
            entry,
        }
    }
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
