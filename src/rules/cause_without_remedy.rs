//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;
use crate::procedure::Cause;

rule! {
    /// A cause in a fault table has a test but no remedy.
    ///
    /// ## At the bench
    ///
    /// The mechanic finds the fault, and the table does not say what to do about it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === faults/stiff.md
    /// +++
    /// title = "Stiff"
    /// machines = ["hand-pump"]
    /// +++
    /// The lever takes two hands.
    ///
    /// ## All of it
    ///
    /// 1. Grit under the cover.
    ///    - Work the lever: it should run without a scrape.
    /// ```
    ///
    /// ## Fix
    ///
    /// Make the last point of the cause its remedy: `[](see:procedure/cover)`, or a sentence of advice.
    "cause-without-remedy", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fault(check)];

fn check(fault: &Job<'_>, findings: &mut Findings) {
    for step in fault.steps() {
        let cause = Cause::of(step.notes);
        if cause.test.is_some() && cause.remedy.is_none() {
            findings.push(
                Finding::new(&RULE, "a cause has a test but no remedy")
                    .primary(step.span, "")
                    .help("add the remedy as its last point: `[](see:procedure/…)`"),
            );
        }
    }
}
