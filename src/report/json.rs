//! JSON, one object a line. `docs/finding.schema.json` describes an object.

use super::entry::{FindingEntry, entry_in};
use super::subject::Report;
use crate::review::fingerprints;
use serde::Serialize;

/// A finding as a line of the report.
#[derive(Serialize)]
struct Line<'r> {
    #[serde(flatten)]
    entry: FindingEntry,
    /// The subject of its rule.
    family: &'r str,
    /// The names of the jobs that have the problem.
    jobs: &'r [String],
    /// The same in another version of the sources, if the finding and the line that it marks are.
    fingerprint: String,
    /// The web address of the rule's page, if the site has one.
    rule_address: Option<String>,
}

/// A line for each finding, in their order.
pub(super) fn lines(report: &Report<'_>) -> String {
    let mut text = String::new();
    let fingerprints = fingerprints(report.tree, report.findings);
    for (finding, fingerprint) in report.findings.iter().zip(fingerprints) {
        let line = Line {
            entry: entry_in(report.tree, report.folder, finding),
            family: finding.rule.family.name(),
            jobs: &finding.jobs,
            fingerprint: fingerprint.to_string(),
            rule_address: report.rule_address(finding.rule),
        };
        // Can't fail for plain data.
        text.push_str(&serde_json::to_string(&line).unwrap_or_default());
        text.push('\n');
    }
    text
}
