//! See [`RULE`].

use crate::dry_run::{PartPlace, Rehearsal};
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;

rule! {
    /// A fastener was slackened, or started by hand, and is not tight at the end of the job.
    ///
    /// ## At the bench
    ///
    /// It shakes out on the first afternoon.
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
    /// 1. [](slacken:cover-nut)
    /// 2. [](clean:cover)
    /// ```
    ///
    /// ## Mend
    ///
    /// Tighten it after what it holds is in place.
    "fastener-left-loose", DryRun, Error => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, rehearsal: &Rehearsal<'_>, findings: &mut Findings) {
    for (id, state) in rehearsal.end().parts() {
        let left = job
            .procedure
            .leaves
            .iter()
            .any(|(name, _)| name.value == id);
        if state.place != PartPlace::Loose || left {
            continue;
        }
        let Some(since) = state.since else { continue };
        let message = format!(
            "`{id}` is not tight at the end of `{}` on `{}`",
            job.procedure.id, job.machine.id
        );
        let mut finding = Finding::new(&RULE, message)
            .at(since.span, "loose from here on")
            .help(format!(
                "add `[](tighten:{id})` once what it holds is in place"
            ));
        if let Some(stage) = job
            .machine
            .parts
            .get(id)
            .and_then(|part| part.stages.last())
        {
            finding = finding.and(stage.spec.span, "its torque");
        }
        findings.push(finding);
    }
}
