//! See [`RULE`].

use crate::dry_run::{PartPlace, State};
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

pub(super) fn check(job: &Job<'_>, end: &State<'_>, findings: &mut Findings) {
    for (part, state) in end.parts() {
        let id = &part.id;
        if state.place != PartPlace::Loose || super::is_left(job, id) {
            continue;
        }
        let message = format!("`{id}` is not tight at the end");
        let finding = Finding::new(&RULE, message)
            .in_job(job.name().to_string())
            .help(format!(
                "add `[](tighten:{id})` once what it holds is in place"
            ));
        let mut finding = super::at(finding, state.since, "loose from here on");
        if let Some(stage) = part.stages.last() {
            finding = finding.and(stage.spec.span, "its torque");
        }
        findings.push(finding);
    }
}
