//! See [`RULE`].

use crate::dry_run::{PartPlace, Rehearsal};
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;
use crate::prose::Verb;

rule! {
    /// A part is taken off, slackened or tightened while it is off.
    ///
    /// ## At the bench
    ///
    /// A step that can't be done stops the job, or teaches people to skip steps.
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
    /// 1. [](remove:cover-nut)
    /// 2. [](remove:cover)
    /// 3. [](remove:cover)
    /// 4. [](fit:cover)
    /// 5. [](fit:cover-nut)
    /// 6. [](tighten:cover-nut)
    /// ```
    ///
    /// ## Mend
    ///
    /// Take out the step that comes too often, or put the part on before it.
    "part-not-on", DryRun, Error => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, rehearsal: &Rehearsal<'_>, findings: &mut Findings) {
    for done in &rehearsal.moves {
        let needs_on = matches!(done.verb, Verb::Remove | Verb::Slacken | Verb::Tighten);
        if !needs_on || done.before.place != PartPlace::Off {
            continue;
        }
        let (id, verb) = (&done.part.id, done.verb.word());
        let message = format!(
            "`{verb}:{id}` comes while `{id}` is off in `{}` on `{}`",
            job.procedure.id, job.machine.id
        );
        let mut finding = Finding::new(&RULE, message).at(done.at.span, "it is off here");
        if let Some(since) = done.before.since {
            finding = finding.and(since.span, "taken off here");
        }
        findings.push(finding);
    }
}
