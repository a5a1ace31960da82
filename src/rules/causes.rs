//! Keeps one finding of each cause.

use super::{energy_not_proved, work_on_live_energy};
use crate::finding::{Findings, Mark};
use std::collections::BTreeSet;

/// Keeps the first of the findings on work near one energy source while it stays in one state. The others have the same
/// cause: it was not made safe before the first of them.
///
/// Comes after [`super::waivers::waive`], so that a waived step does not hide the next one.
pub(super) fn keep_first(found: &mut Findings) {
    let rules = [&work_on_live_energy::RULE, &energy_not_proved::RULE];
    let mut seen = BTreeSet::new();
    found.set_levels(|finding| {
        let is_of_energy = rules.iter().any(|rule| rule.name == finding.rule.name);
        // The other spans are those of the energy and of the action that brought it into its state.
        let others = finding.others.iter().map(|Mark { span, .. }| *span);
        let cause = (
            finding.rule.name,
            finding.help.clone(),
            others.collect::<Vec<_>>(),
        );
        (!is_of_energy || seen.insert(cause)).then_some(finding.level)
    });
}
