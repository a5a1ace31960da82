//! See [`RULE`].

use crate::dry_run::{PartPlace, Rehearsal};
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;
use crate::prose::Verb;

rule! {
    /// A part is put on while it is on.
    ///
    /// ## At the bench
    ///
    /// A step that can't be done stops the job; perhaps the step that takes the part off is missing.
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
    /// 1. [](clean:cover)
    /// 2. [](fit:cover)
    /// ```
    ///
    /// ## Mend
    ///
    /// Say where it comes off, or take the step out.
    "part-not-off", DryRun, Error => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, rehearsal: &Rehearsal<'_>, findings: &mut Findings) {
    for done in &rehearsal.moves {
        let fits = done.verb == Verb::Fit;
        if !fits || done.before.place == PartPlace::Off {
            continue;
        }
        let id = &done.part.id;
        let message = format!(
            "`fit:{id}` comes while `{id}` is on in `{}` on `{}`",
            job.procedure.id, job.machine.id
        );
        let mut finding = Finding::new(&RULE, message)
            .at(done.at.span, "it is on here")
            .help(format!(
                "add `[](remove:{id})` before it, or take this step out"
            ));
        if let Some(since) = done.before.since {
            finding = finding.and(since.span, "last put on or loosened here");
        }
        findings.push(finding);
    }
}
