//! `JUnit` XML: a suite for each procedure, in it a case for each of its jobs and each family of rules.
//!
//! Findings that belong to no job are cases as well: of their procedure, or of their file in a suite of the other files. A
//! case fails if it has an error. Warnings and advice are the output of a case that passes.

use super::subject::Report;
use super::text;
use crate::finding::{Family, FileId, Finding, Level};
use crate::tree::SourceKind;
use quick_junit::{NonSuccessKind, TestCase, TestCaseStatus, TestSuite, XmlString};
use std::collections::{BTreeMap, BTreeSet};

/// The findings of each case: by the suite's file, then by the job's machine (`None` for the file itself).
type Cases<'r> = BTreeMap<(FileId, Option<&'r str>), Vec<&'r Finding>>;

/// The report as XML.
pub(super) fn xml(report: &Report<'_>) -> String {
    let mut whole = quick_junit::Report::new("benchleaf check");
    let (cases, without_place) = cases(report);
    let mut others = TestSuite::new("other files");
    for source in &report.tree.files {
        let is_procedure = matches!(
            source.kind,
            SourceKind::Procedure { .. } | SourceKind::Fault { .. }
        );
        let path = report.path(source.id);
        let of_file = cases.get(&(source.id, None)).map_or(&[][..], Vec::as_slice);
        if is_procedure {
            let mut suite = TestSuite::new(path.as_str());
            suite.add_test_cases(file_cases(report, &path, "sources", of_file));
            for ((file, machine), findings) in
                cases.range((source.id, Some(""))..(FileId(source.id.0 + 1), None))
            {
                let Some(machine) = machine.filter(|_| *file == source.id) else {
                    continue;
                };
                for family in Family::ALL {
                    let findings = of_family(findings, family);
                    let name = format!("{machine}: {}", family.name());
                    suite.add_test_case(case(report, &name, &path, &findings));
                }
            }
            whole.add_test_suite(suite);
        } else {
            others.add_test_cases(file_cases(report, &path, &path, of_file));
        }
    }
    others.add_test_cases(file_cases(
        report,
        report.folder,
        "all files",
        &without_place,
    ));
    whole.add_test_suite(others);
    // Writing to memory can't fail. The published schema has the number of skipped cases only on suites.
    let xml = whole.to_string().unwrap_or_default();
    xml.replacen(" skipped=\"0\"", "", 1)
}

/// The findings by case, every job with a case of its own. Then those without a place.
fn cases<'r>(report: &'r Report<'_>) -> (Cases<'r>, Vec<&'r Finding>) {
    let mut cases = Cases::new();
    let mut jobs = BTreeMap::new();
    for job in report.jobs {
        cases.insert((job.file, Some(job.machine.as_str())), Vec::new());
        jobs.insert(job.name(), (job.file, Some(job.machine.as_str())));
    }
    let mut without_place = Vec::new();
    for finding in report.findings {
        let of_jobs = finding
            .jobs
            .iter()
            .filter_map(|name| jobs.get(name).copied());
        let mut keys: BTreeSet<_> = of_jobs.collect();
        if keys.is_empty() {
            keys.extend(finding.primary.as_ref().map(|mark| (mark.span.file, None)));
        }
        if keys.is_empty() {
            without_place.push(finding);
        }
        for key in keys {
            cases.entry(key).or_default().push(finding);
        }
    }
    (cases, without_place)
}

fn of_family<'r>(findings: &[&'r Finding], family: Family) -> Vec<&'r Finding> {
    let findings = findings.iter().copied();
    findings
        .filter(|finding| finding.rule.family == family)
        .collect()
}

/// The cases of a file: one for each family with findings, or one that passes.
fn file_cases(
    report: &Report<'_>,
    class: &str,
    name: &str,
    findings: &[&Finding],
) -> Vec<TestCase> {
    if findings.is_empty() {
        return vec![case(report, name, class, &[])];
    }
    let cases = Family::ALL.into_iter().filter_map(|family| {
        let findings = of_family(findings, family);
        let name = format!("{name}: {}", family.name());
        (!findings.is_empty()).then(|| case(report, &name, class, &findings))
    });
    cases.collect()
}

fn case(report: &Report<'_>, name: &str, class: &str, findings: &[&Finding]) -> TestCase {
    let text = |findings: &[&Finding]| {
        let texts = findings.iter().map(|finding| text::plain(report, finding));
        texts.collect::<Vec<_>>().join("\n")
    };
    let (errors, others): (Vec<&Finding>, Vec<&Finding>) = findings
        .iter()
        .copied()
        .partition(|finding| finding.level == Level::Error);
    let status = match errors.first() {
        None => TestCaseStatus::success(),
        Some(first) => {
            let mut status = TestCaseStatus::non_success(NonSuccessKind::Failure);
            let more = match errors.len() {
                1 => String::new(),
                count => format!(" (and {} more)", count - 1),
            };
            let message = format!("{}{more}", first.message);
            status.set_message(message.as_str());
            status.set_type(first.rule.name);
            status.set_description(text(&errors));
            status
        }
    };
    let mut case = TestCase::new(name, status);
    case.set_classname(XmlString::new(class));
    if !others.is_empty() {
        case.set_system_out(text(&others));
    }
    case
}
