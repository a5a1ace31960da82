//! A log in the Static Analysis Results Interchange Format, SARIF 2.1.0 (OASIS standard, 27 March 2020).
//!
//! Paths are relative to the root of the repository, columns count Unicode code points, and the end of a region is exclusive.
//! The limits are those of GitHub's code scanning ("SARIF support for code scanning", from memory): 25,000 results of a
//! run, of which the worst come first, 1,000 locations of a result, 1,024 characters of a rule's descriptions.

use super::subject::{Region, Report};
use crate::finding::{Edit, FileId, Finding, Level, Mark, Rule};
use crate::review::fingerprints;
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde_sarif::sarif::{
    ArtifactChange, ArtifactContent, ArtifactLocation, Fix, Invocation, Location, Message,
    MultiformatMessageString, PhysicalLocation, PropertyBag, Region as SarifRegion, Replacement,
    ReportingConfiguration, ReportingDescriptor, Result as SarifResult, ResultLevel, Run, Sarif,
    Tool, ToolComponent,
};
use std::collections::BTreeMap;

/// The most results of a run.
const MOST_RESULTS: usize = 25_000;

/// The most further locations of a result.
const MOST_RELATED: usize = 100;

/// The most characters of a short text.
const MAX_SHORT: usize = 1_024;

/// The most characters of a message.
const MAX_MESSAGE: usize = 10_000;

/// The id of the base that paths are relative to: the root of the repository.
const ROOT: &str = "SRCROOT";

/// The key of our fingerprints. The number changes when they are made differently.
const FINGERPRINT: &str = "benchleaf/v1";

/// What is not escaped in a path: the unreserved characters of RFC 3986, and the separator.
const PATH: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'/')
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~');

/// The log as JSON.
pub(super) fn log(report: &Report<'_>) -> String {
    let mut rules: Vec<&'static Rule> = report.findings.iter().map(|found| found.rule).collect();
    rules.sort_by_key(|rule| rule.name);
    rules.dedup_by_key(|rule| rule.name);
    let fingerprints = fingerprints(report.tree, report.findings);
    let mut findings: Vec<(&Finding, String)> = report
        .findings
        .iter()
        .zip(fingerprints)
        .map(|(finding, fingerprint)| (finding, fingerprint.to_string()))
        .collect();
    findings.sort_by_key(|(finding, _)| std::cmp::Reverse(finding.level));
    findings.truncate(MOST_RESULTS);
    let results = findings.into_iter().map(|(finding, fingerprint)| {
        let index = rules.iter().position(|rule| rule.name == finding.rule.name);
        result(report, finding, index.unwrap_or_default(), fingerprint)
    });
    let driver = ToolComponent::builder()
        .name("benchleaf")
        .semantic_version(env!("CARGO_PKG_VERSION"))
        .rules(
            rules
                .iter()
                .map(|rule| descriptor(report, rule))
                .collect::<Vec<_>>(),
        )
        .build();
    let notes = report
        .notes
        .iter()
        .map(|note| serde_json::json!({ "level": "note", "message": { "text": note } }));
    let mut invocation = Invocation::builder().execution_successful(true).build();
    let notes: Vec<_> = notes
        .filter_map(|note| serde_json::from_value(note).ok())
        .collect();
    if !notes.is_empty() {
        invocation.tool_execution_notifications = Some(notes);
    }
    let run = Run::builder()
        .tool(Tool::builder().driver(driver).build())
        .column_kind("unicodeCodePoints")
        .invocations(vec![invocation])
        .results(results.collect::<Vec<_>>())
        .build();
    let log = Sarif::builder()
        .schema("https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json")
        .version(serde_json::json!("2.1.0"))
        .runs(vec![run])
        .build();
    // Can't fail for plain data.
    let mut text = serde_json::to_string(&log).unwrap_or_default();
    text.push('\n');
    text
}

fn level(level: Level) -> ResultLevel {
    match level {
        Level::Error => ResultLevel::Error,
        Level::Warning => ResultLevel::Warning,
        Level::Advice => ResultLevel::Note,
    }
}

/// What the log says about a rule.
fn descriptor(report: &Report<'_>, rule: &'static Rule) -> ReportingDescriptor {
    let short = |text: &str| {
        let text = shortened(text, MAX_SHORT);
        MultiformatMessageString::builder().text(text).build()
    };
    let page = rule.markdown();
    let help = MultiformatMessageString::builder()
        .text(page.clone())
        .markdown(page)
        .build();
    let mut descriptor = ReportingDescriptor::builder()
        .id(rule.name)
        .name(pascal_case(rule.name))
        .short_description(short(rule.summary()))
        .full_description(short(rule.summary()))
        .help(help)
        .default_configuration(
            ReportingConfiguration::builder()
                .level(serde_json::json!(level(rule.level).to_string()))
                .build(),
        )
        .build();
    let tags = serde_json::json!({ "tags": [rule.family.name()] });
    descriptor.properties = serde_json::from_value::<PropertyBag>(tags).ok();
    descriptor.help_uri = report.rule_address(rule);
    descriptor
}

fn result(
    report: &Report<'_>,
    finding: &Finding,
    rule_index: usize,
    fingerprint: String,
) -> SarifResult {
    let mut text = finding.whole_message();
    if let Some(help) = &finding.help {
        text.push_str("\nhelp: ");
        text.push_str(help);
    }
    let mut result = SarifResult::builder()
        .message(message(&text))
        .rule_id(finding.rule.name)
        .rule_index(i64::try_from(rule_index).unwrap_or(-1))
        .level(level(finding.level))
        .partial_fingerprints(BTreeMap::from([(FINGERPRINT.to_owned(), fingerprint)]))
        .build();
    if let Some(mark) = &finding.primary {
        result.locations = Some(vec![location(report, mark, None)]);
    }
    let related = finding.others.iter().take(MOST_RELATED).enumerate();
    let related = related.map(|(id, mark)| location(report, mark, i64::try_from(id).ok()));
    let related: Vec<Location> = related.collect();
    if !related.is_empty() {
        result.related_locations = Some(related);
    }
    if !finding.edits.is_empty() {
        result.fixes = Some(vec![fix(report, finding)]);
    }
    result
}

/// A message. Its text is not read as a format: `{0}` and links in brackets are escaped as the standard says (3.11.6).
fn message(text: &str) -> Message {
    let text = shortened(text, MAX_MESSAGE);
    let text = text
        .replace('\\', "\\\\")
        .replace('[', "\\[")
        .replace(']', "\\]");
    let text = text.replace('{', "{{").replace('}', "}}");
    Message::builder().text(text).build()
}

fn artifact(report: &Report<'_>, file: FileId) -> ArtifactLocation {
    let path = report.path(file);
    ArtifactLocation::builder()
        .uri(utf8_percent_encode(&path, PATH).to_string())
        .uri_base_id(ROOT)
        .build()
}

fn region(region: Region) -> SarifRegion {
    let number = |count: usize| i64::try_from(count).unwrap_or(i64::MAX);
    SarifRegion::builder()
        .start_line(number(region.line))
        .start_column(number(region.column))
        .end_line(number(region.end_line))
        .end_column(number(region.end_column))
        .build()
}

fn location(report: &Report<'_>, mark: &Mark, id: Option<i64>) -> Location {
    let source = report.tree.file(mark.span.file);
    let physical = PhysicalLocation::builder()
        .artifact_location(artifact(report, source.id))
        .region(region(Region::of(source, mark.span)))
        .build();
    let mut location = Location::builder().physical_location(physical).build();
    location.id = id;
    if !mark.label.is_empty() {
        location.message = Some(message(&mark.label));
    }
    location
}

/// The edits of a finding, which are applied together.
fn fix(report: &Report<'_>, finding: &Finding) -> Fix {
    let mut by_file: BTreeMap<FileId, Vec<&Edit>> = BTreeMap::new();
    for edit in &finding.edits {
        by_file.entry(edit.span.file).or_default().push(edit);
    }
    let changes = by_file.into_iter().map(|(file, edits)| {
        let source = report.tree.file(file);
        let replacements = edits.into_iter().map(|edit| {
            Replacement::builder()
                .deleted_region(region(Region::of(source, edit.span)))
                .inserted_content(
                    ArtifactContent::builder()
                        .text(edit.replacement.as_str())
                        .build(),
                )
                .build()
        });
        ArtifactChange::builder()
            .artifact_location(artifact(report, file))
            .replacements(replacements.collect::<Vec<_>>())
            .build()
    });
    let description = finding.help.as_deref().unwrap_or("correct it");
    Fix::builder()
        .description(message(description))
        .artifact_changes(changes.collect::<Vec<_>>())
        .build()
}

/// `PartLeftOff` for `part-left-off`: the standard wants names that are no ids to be readable identifiers (3.49.7).
fn pascal_case(name: &str) -> String {
    let words = name.split('-').map(|word| {
        let mut letters = word.chars();
        let first = letters.next().map(|letter| letter.to_ascii_uppercase());
        first.into_iter().chain(letters).collect::<String>()
    });
    words.collect()
}

fn shortened(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        None => text.to_owned(),
        Some(_) => text.chars().take(most - 1).chain(['…']).collect(),
    }
}
