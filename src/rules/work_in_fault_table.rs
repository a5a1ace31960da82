//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;
use crate::procedure::Step;
use crate::verbs::Trait;

rule! {
    /// A fault table removes, fits, fills or adjusts something.
    ///
    /// ## At the bench
    ///
    /// Tests come before teardown. A fault table is not rehearsed, so nothing checks that a removed
    /// part is refitted.
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
    ///    - [Take the cover off](remove:cover) and look.
    ///    - [](see:procedure/cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Find a test that leaves the machine assembled, or move the work to a procedure and refer to it:
    /// `[](see:procedure/cover)`.
    "work-in-fault-table", Names, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fault(check)];

fn check(fault: &Job<'_>, findings: &mut Findings) {
    // Checks the steps as written, because the job has the steps of the procedure in place of a `do`.
    for action in fault.procedure.steps().flat_map(Step::actions) {
        if !action.verb.spec().has(Trait::InFaultTable) {
            let (verb, thing) = (action.verb.word(), &action.thing.value);
            findings.push(
                Finding::new(&RULE, format!("`{verb}:{thing}` is work, not a test"))
                    .primary(action.span, "")
                    .help(
                        "a table tests a whole machine; work is a procedure: \
                         `[](see:procedure/…)`",
                    ),
            );
        }
    }
}
