//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;
use crate::procedure::Cause;

rule! {
    /// A cause in a fault table has no test that tells it from the others.
    ///
    /// ## At the bench
    ///
    /// Parts are replaced by guesswork until one of them helps.
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
    ///    - [](see:procedure/cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Make the first point of the cause its test: what to look at, listen to or measure.
    "cause-without-test", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fault(check)];

fn check(fault: &Job<'_>, findings: &mut Findings) {
    for step in fault.steps() {
        if Cause::of(step.notes).test.is_none() {
            findings.push(
                Finding::new(&RULE, "a cause has no test")
                    .primary(step.span, "")
                    .help("add a first point below it that tells this cause from the others"),
            );
        }
    }
}
