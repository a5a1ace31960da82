//! Waivers: a step's `{waive="rule: why"}` drops that rule's findings in the step.

use crate::finding::{Finding, Findings, Rule, Span, rule};
use crate::job::Job;
use crate::procedure::Procedure;
use rayon::prelude::*;
use std::collections::BTreeSet;

pub(super) static RULES: [&Rule; 1] = [&UNUSED_WAIVER];

/// The waivers that dropped a finding: the step's place and the rule's name.
pub(crate) type Waived = BTreeSet<(Span, String)>;

/// Drops the findings that a step waives, and returns the waivers that dropped one.
pub(super) fn waive(job: &Job<'_>, found: &mut Findings) -> Waived {
    let mut waived = Waived::new();
    // What is found at the end may have been caused on the sheet before it.
    let steps = || job.steps().chain(job.earlier_steps());
    if steps().all(|step| step.waivers.is_empty()) {
        return waived;
    }
    found.set_levels(|finding| {
        let place = finding.primary.as_ref().map(|mark| mark.span);
        let step = place.and_then(|place| steps().find(|step| step.span.contains(place)));
        let is_waived = step.is_some_and(|step| {
            let mut rules = step.waivers.iter();
            rules.any(|(rule, _)| rule == finding.rule.name)
        });
        if let Some(step) = step.filter(|_| is_waived) {
            waived.insert((step.span, finding.rule.name.to_owned()));
        }
        (!is_waived).then_some(finding.level)
    });
    waived
}

/// Reports the waivers that dropped no finding in any job: they would hide a later fault.
pub(crate) fn unused_waivers(procedures: &[Procedure], waived: &Waived, findings: &mut Findings) {
    let unused = procedures.par_iter().flat_map_iter(|procedure| {
        let written = procedure.steps().flat_map(|step| {
            let of_step = step.waivers.iter();
            of_step.map(|(rule, _)| (step.span, rule))
        });
        written.filter(|(place, rule)| !waived.contains(&(*place, (*rule).clone())))
    });
    let unused: Vec<(Span, &String)> = unused.collect();
    for (place, rule) in unused {
        let message = format!("the waiver of `{rule}` waives nothing");
        findings.push(
            Finding::new(&UNUSED_WAIVER, message)
                .primary(place, "")
                .help("remove it, or correct the rule's name"),
        );
    }
}

rule! {
    /// A step waives a rule that it does not break.
    ///
    /// ## At the bench
    ///
    /// The waiver would hide the fault if it is introduced later.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover) {waive="part-left-off: dries overnight"}
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the waiver, or correct the rule's name.
    "unused-waiver", Rehearsal, Warning => UNUSED_WAIVER
}
