//! Workflow commands, which GitHub shows as annotations of the lines of a change.
//!
//! The syntax and the escapes are those of "Workflow commands for GitHub Actions" (GitHub documentation). Of one step, ten
//! annotations of each level are displayed (GitHub's documentation of limits, from memory). So only the worst are written,
//! and the last one has the total.

use super::subject::Report;
use crate::finding::{Finding, Level};
use std::fmt::Write as _;

/// How many annotations of a level are displayed of one step.
const MOST_OF_LEVEL: usize = 10;

/// The worst findings, and a notice with the numbers of all of them.
pub(super) fn commands(report: &Report<'_>) -> String {
    let mut text = String::new();
    let findings = report.worst_first();
    for level in [Level::Error, Level::Warning, Level::Advice] {
        // The total takes the place of one notice.
        let most = MOST_OF_LEVEL - usize::from(level == Level::Advice);
        let of_level = findings.iter().filter(|finding| finding.level == level);
        for finding in of_level.take(most) {
            let _ = writeln!(text, "{}", command(report, finding));
        }
    }
    let total = report
        .counts()
        .map_or_else(|| "no findings".to_owned(), |counts| counts + " in all");
    let mut total = vec![total];
    total.extend(report.notes.iter().cloned());
    if let Some(affected) = report.affected {
        total.push(format!("sheets affected: {}", affected.len()));
    }
    let total = data(&total.join("\n"));
    let _ = writeln!(text, "::notice title=benchleaf::{total}");
    text
}

fn command(report: &Report<'_>, finding: &Finding) -> String {
    let level = match finding.level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Advice => "notice",
    };
    let mut properties = Vec::new();
    if let Some((path, region)) = report.place(finding) {
        properties.push(format!("file={}", property(&path)));
        properties.push(format!("line={}", region.line));
        properties.push(format!("endLine={}", region.end_line));
        // Columns are read only within one line.
        if region.line == region.end_line {
            properties.push(format!("col={}", region.column));
            let end = region.end_column.max(region.column + 1);
            properties.push(format!("endColumn={end}"));
        }
    }
    properties.push(format!("title={}", property(finding.rule.name)));
    let mut lines = vec![finding.whole_message()];
    lines.extend(finding.help.iter().map(|help| format!("help: {help}")));
    lines.extend(report.rule_address(finding.rule));
    let message = data(&lines.join("\n"));
    format!("::{level} {}::{message}", properties.join(","))
}

/// Escapes a message.
fn data(text: &str) -> String {
    text.replace('%', "%25")
        .replace('\r', "%0D")
        .replace('\n', "%0A")
}

/// Escapes the value of a property.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
