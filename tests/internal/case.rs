//! A small shop with one machine and a procedure, for tests of the rules.

use super::sheets;
use super::support::{files, tree};
use crate::tree::Memory;
use std::collections::BTreeMap;

/// The tree `hand-pump` with another machine, `case`, and procedures for it.
pub(super) struct Case {
    pub(super) world: BTreeMap<String, Vec<u8>>,
}

/// A finding: its rule, its primary span and its other spans. A span is shown as the stem of its file and its text.
pub(super) type ShownFinding = (String, String, Vec<String>);

impl Case {
    pub(super) fn on(machine: &str) -> Case {
        let mut world: BTreeMap<String, Vec<u8>> = files(&tree("hand-pump")).into_iter().collect();
        let text = format!("name = \"Tarn Rush\"\nbasis = \"invented\"\n{machine}");
        world.insert("machines/case.toml".to_owned(), text.into_bytes());
        Case { world }
    }

    /// Adds a procedure. `front` is more lines of its front matter.
    pub(super) fn with(mut self, id: &str, front: &str, steps: &[&str]) -> Case {
        let steps: Vec<String> = steps
            .iter()
            .map(|step| format!("1. []({step})\n"))
            .collect();
        let text = format!(
            "+++\ntitle = \"{id}\"\nmachines = [\"case\"]\n{front}+++\n## Do\n\n{}",
            steps.concat()
        );
        self.world
            .insert(format!("case/{id}.md"), text.into_bytes());
        self
    }

    /// Adds text to a file, which is made if it does not exist.
    pub(super) fn add(&mut self, path: &str, text: &str) {
        let file = self.world.entry(path.to_owned()).or_default();
        file.extend_from_slice(text.as_bytes());
    }

    /// Adds a procedure whose reassembly is derived.
    pub(super) fn with_reverse(self, id: &str, steps: &[&str]) -> Case {
        let mut case = self.with(id, "", steps);
        let path = format!("case/{id}.md");
        let text = case.world.get_mut(&path).expect("was just added");
        text.extend_from_slice(b"\n## Put back {.reverse}\n");
        case
    }

    pub(super) fn findings(&self) -> Vec<ShownFinding> {
        let sources = crate::read(&Memory::new(self.world.clone()));
        let checked = crate::check_all(&sources);
        let place = |mark: &crate::finding::Mark| {
            let path = &sources.tree.file(mark.span.file).path;
            let stem = path
                .rsplit_once('/')
                .map_or(path.as_str(), |(_, file)| file);
            let text = sources.tree.text(mark.span).trim_matches('"');
            let text = text
                .strip_prefix("[](")
                .map_or(text, |rest| rest.trim_end_matches(')'));
            format!("{} {text}", stem.split('.').next().unwrap())
        };
        let findings = checked.findings.iter();
        findings
            .map(|finding| {
                let primary = finding.primary.as_ref().map(place).unwrap_or_default();
                let others = finding.others.iter().map(place).collect();
                (finding.rule.name.to_owned(), primary, others)
            })
            .collect()
    }

    pub(super) fn sheets(&self, id: &str) -> Vec<String> {
        sheets(&Memory::new(self.world.clone()), id)
    }
}

#[track_caller]
pub(super) fn assert_clean(case: &Case) {
    assert_eq!(case.findings(), []);
}

/// Asserts that a case has exactly one finding: this rule, at this step, with another span at `other_span` unless that is
/// empty.
#[track_caller]
pub(super) fn assert_finding(case: &Case, rule: &str, step: &str, other_span: &str) {
    if let Err(findings) = expect_finding(case, rule, step, other_span) {
        panic!("expected one finding of {rule} at {step}: {findings:#?}");
    }
}

/// As [`assert_finding`], but returns the actual findings if they are others.
pub(super) fn expect_finding(
    case: &Case,
    rule: &str,
    step: &str,
    other_span: &str,
) -> Result<(), Vec<ShownFinding>> {
    let findings = case.findings();
    let is_expected = match findings.as_slice() {
        [(found_rule, primary, others)] => {
            let is_marked = other_span.is_empty() || others.iter().any(|other| other == other_span);
            found_rule == rule && primary == step && is_marked
        }
        _ => false,
    };
    if is_expected { Ok(()) } else { Err(findings) }
}

/// One procedure, `job`, on a machine.
pub(super) fn job(machine: &str, steps: &[&str]) -> Case {
    Case::on(machine).with("job", "", steps)
}

/// Tests each line of a table as a job on a machine. A line has a name and the steps. A faulty job also has the
/// expected rule, the step of its primary span, and another span, which may be empty. `OFF` in the steps stands for
/// the disassembly `off`.
#[track_caller]
pub(super) fn check_table(machine: &str, off: &str, table: &str) {
    let mut failures = Vec::new();
    for line in table.lines().filter(|line| !line.trim().is_empty()) {
        let fields: Vec<&str> = line.split('|').map(str::trim).collect();
        let [name, steps, fault @ ..] = fields.as_slice() else {
            panic!("expected a name and steps: {line}");
        };
        let steps = steps.replace("OFF", off);
        let case = job(machine, &steps.split(' ').collect::<Vec<_>>());
        let result = match fault {
            [] => match case.findings() {
                findings if findings.is_empty() => Ok(()),
                findings => Err(findings),
            },
            [rule, step, other_span] => {
                expect_finding(&case, rule, &format!("job {step}"), other_span)
            }
            _ => panic!("expected a rule, a step and another span: {line}"),
        };
        if let Err(findings) = result {
            failures.push(format!("{name}: {findings:#?}"));
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}
