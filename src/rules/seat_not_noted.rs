//! See [`RULE`].

use crate::dry_run::Rehearsal;
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;
use crate::prose::Verb;

rule! {
    /// A linkage comes off while nobody has noted which of its places it sat in, and the machine's file does not say.
    ///
    /// ## At the bench
    ///
    /// It goes back into the wrong hole, and the engine hunts or runs away.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/rod.md
    /// +++
    /// title = "Pump rod"
    /// machines = ["hand-pump"]
    /// +++
    /// Moves the plunger.
    ///
    /// ## Clean
    ///
    /// 1. [](remove:pump-rod)
    /// 2. [](clean:pump-rod)
    /// 3. [](fit:pump-rod)
    /// ```
    ///
    /// ## Mend
    ///
    /// Add `[](note:…)` before it comes off, or write its `seat` on the machine where it never varies.
    "seat-not-noted", DryRun, Error => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, rehearsal: &Rehearsal<'_>, findings: &mut Findings) {
    for done in &rehearsal.moves {
        let unknown = done.part.is_linkage() && done.part.seat.is_none();
        if done.verb != Verb::Remove || !unknown || done.before.noted.is_some() {
            continue;
        }
        let id = &done.part.id;
        let seats: Vec<&str> = done
            .part
            .seats
            .iter()
            .map(|seat| seat.value.as_str())
            .collect();
        let message = format!(
            "`{id}` comes off on `{}` before anyone noted where it sat",
            job.machine.id
        );
        let mut finding = Finding::new(&RULE, message)
            .at(done.at.span, "taken off here")
            .help(format!("add `[](note:{id})` before it comes off"));
        if let Some(first) = done.part.seats.first() {
            finding = finding.and(first.span, format!("could sit in: {}", seats.join(", ")));
        }
        findings.push(finding);
    }
}
