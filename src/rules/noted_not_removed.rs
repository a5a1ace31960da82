//! See [`RULE`].

use crate::dry_run::State;
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;

rule! {
    /// A part's place is noted, and the part never comes off.
    ///
    /// ## At the bench
    ///
    /// Perhaps the step that takes it off is missing; if not, somebody writes down what nobody needs.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](note:pump-rod)
    /// ```
    ///
    /// ## Mend
    ///
    /// Say where it comes off, or take the note out.
    "noted-not-removed", DryRun, Advice => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, end: &State<'_>, findings: &mut Findings) {
    for (part, state) in end.parts() {
        let id = &part.id;
        if state.noted.is_none() || state.came_off.is_some() {
            continue;
        }
        let message = format!("the place of `{id}` is noted and it never comes off");
        let finding = Finding::new(&RULE, message).in_job(job.name().to_string());
        findings.push(super::at(finding, state.noted, "noted here"));
    }
}
