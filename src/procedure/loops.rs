//! Checks the marks of steps that depend on outcomes, once a whole file was read.

use super::{Item, Procedure, Step, rules};
use crate::finding::{Finding, Findings, nearest};

/// A cause of a fault table is not done, so it depends on no outcome.
pub(super) fn drop_outcomes(step: &mut Step, findings: &mut Findings) {
    let (when, repeat) = (step.when.take(), step.repeat.take());
    if when.is_some() || repeat.is_some() {
        findings.push(
            Finding::new(&rules::UNKNOWN_MARK, "a cause of a fault table depends on no outcome")
                .primary(step.span, "")
                .help("write what is acceptable in the points below the cause, without `{if}` and `{until}`"),
        );
    }
}

/// Drops the repetitions whose first step is not above them in their section, and reports them.
pub(super) fn check_loops(procedure: &mut Procedure, findings: &mut Findings) {
    for section in &mut procedure.sections {
        let is_derived = section.reverse;
        let mut ids: Vec<String> = Vec::new();
        for item in &mut section.items {
            let Item::Step(step) = item else { continue };
            ids.extend(step.id.iter().map(|id| id.value.clone()));
            let Some(repeat) = &step.repeat else { continue };
            let name = repeat.back_to.value.as_str();
            if !is_derived && ids.iter().any(|id| id == name) {
                continue;
            }
            let message = format!("there is no step `{name}` above this one in its section");
            let finding =
                Finding::new(&rules::UNRESOLVED_REFERENCE, message).primary(step.span, "");
            findings.push(if is_derived {
                finding.help("move the steps that are repeated into a section without `{.reverse}`")
            } else {
                let near = nearest(name, ids.iter().map(String::as_str));
                finding.suggest(
                    near,
                    "give the first of the repeated steps an id, such as `{#bend}`",
                )
            });
            step.repeat = None;
        }
    }
}
