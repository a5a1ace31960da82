//! See [`RULE`].

use crate::dry_run::{ReadingState, State};
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;

rule! {
    /// A reading was adjusted and not measured after, or what locks it was tightened since.
    ///
    /// ## At the bench
    ///
    /// Nobody knows whether the last turn of the screw was one too many.
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
    /// 1. [](measure:stroke)
    /// 2. [](adjust:stroke)
    /// ```
    ///
    /// ## Mend
    ///
    /// Measure it again, and write it as left.
    "adjusted-not-measured", DryRun, Error => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, end: &State<'_>, findings: &mut Findings) {
    for (id, state) in end.readings() {
        if state.now != ReadingState::Stale {
            continue;
        }
        let message = format!("`{id}` is adjusted and not measured after");
        let finding = Finding::new(&RULE, message)
            .in_job(job.name().to_string())
            .help(format!("add `[](measure:{id})` after it"));
        findings.push(super::at(finding, state.since, "last set or locked here"));
    }
}
