//! See [`RULE`].

use crate::dry_run::{PartPlace, Rehearsal};
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
    /// 1. [](remove:cover)
    /// 2. [](clean:cover)
    /// ```
    ///
    /// ## Mend
    ///
    /// Fit it, have the way back written with `{.reverse}`, or say under `[leaves]` why it stays off.
    "part-left-off", DryRun, Error => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, rehearsal: &Rehearsal<'_>, findings: &mut Findings) {
    for (id, state) in rehearsal.end().parts() {
        let left = job
            .procedure
            .leaves
            .iter()
            .any(|(name, _)| name.value == id);
        if state.place != PartPlace::Off || left {
            continue;
        }
        let Some(since) = state.since else { continue };
        let message = format!(
            "`{id}` is still off at the end of `{}` on `{}`",
            job.procedure.id, job.machine.id
        );
        findings.push(
            Finding::new(&RULE, message)
                .at(since.span, "taken off here and never put back")
                .help(format!(
                    "add `[](fit:{id})` where it goes back, or say under `[leaves]` why it stays off"
                )),
        );
    }
}
