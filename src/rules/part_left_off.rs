//! See [`RULE`].

use crate::dry_run::{PartPlace, State};
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;

rule! {
    /// A part came off and is still off at the end of the job.
    ///
    /// ## At the bench
    ///
    /// The machine goes back to its shelf with a part on the bench.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Clean
    ///
    /// 1. [](note:pump-rod)
    /// 2. [](remove:pump-rod)
    /// ```
    ///
    /// ## Mend
    ///
    /// Fit it, have the way back written with `{.reverse}`, or say under `[leaves]` why it stays off.
    "part-left-off", DryRun, Error => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, end: &State<'_>, findings: &mut Findings) {
    for (part, state) in end.parts() {
        let id = &part.id;
        if state.place != PartPlace::Off || super::is_left(job, id) {
            continue;
        }
        let message = format!("`{id}` is still off at the end");
        let finding = Finding::new(&RULE, message)
            .in_job(job.name().to_string())
            .help(format!(
                "add `[](fit:{id})` where it goes back, or say under `[leaves]` why it stays off"
            ));
        findings.push(super::at(
            finding,
            state.since,
            "taken off here and never put back",
        ));
    }
}
