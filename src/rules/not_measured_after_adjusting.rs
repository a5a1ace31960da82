//! See [`RULE`].

use super::advice::measuring;
use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::ReadingState;

rule! {
    /// A reading is not measured after it was adjusted or changed, or after its lock was tightened.
    ///
    /// `changed-by` on a reading names the actions that change it: a run of the engine, another adjustment.
    ///
    /// ## At the bench
    ///
    /// The last turn of the screw may have moved the reading out of its limits, and no figure shows it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](measure:stroke)
    /// 2. [](adjust:stroke)
    /// ```
    ///
    /// ## Fix
    ///
    /// Measure the reading again, and record the value as left.
    "not-measured-after-adjusting", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (reading, state) in ending.end.readings() {
        if state.now != ReadingState::Stale {
            continue;
        }
        let id = &reading.key;
        let message = format!("`{id}` is not measured after its last change");
        findings.push(
            ending
                .finding(
                    &RULE,
                    message,
                    state.since,
                    "adjusted, locked or changed here",
                )
                .help(measuring(
                    ending.job.machine,
                    reading.id,
                    " after this step",
                ))
                .propose(Place::Early, [format!("measure:{id}")]),
        );
    }
}
