//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::job::{Job, Thing};
use crate::procedure::Cause;
use crate::prose::Verb;

rule! {
    /// A fault table has a part inspected, but neither the part's record nor the table says what is acceptable.
    ///
    /// ## At the bench
    ///
    /// "Inspect the cover" does not tell a worn cover from a good one.
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
    ///    - [](inspect:cover)
    ///    - [](see:procedure/cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Give the part `reuse` or `limits` on the machine, or add the criterion as a point between the
    /// test and the remedy.
    "inspection-without-criterion", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fault(check)];

fn check(fault: &Job<'_>, findings: &mut Findings) {
    for step in fault.steps() {
        if !Cause::of(step.notes).expected.is_empty() {
            continue;
        }
        for action in &step.actions {
            let (Verb::Inspect, Thing::Part(part)) = (action.verb, action.thing) else {
                continue;
            };
            if part.limits.is_none() && part.reuse.is_none() {
                let message = format!("there is no criterion for inspecting `{}`", part.key);
                findings.push(
                    Finding::new(&RULE, message)
                        .primary(action.span, "")
                        .secondary(part.span, "has neither `reuse` nor `limits`")
                        .help("add one of them, or add the criterion as a point after the test"),
                );
            }
        }
    }
}
