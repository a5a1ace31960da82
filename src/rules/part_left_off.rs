//! See [`RULE`].

use super::advice::{actions_of_closing, refit};
use super::check::On;
use super::context::{Blamed, Ending};
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::PartPlace;

rule! {
    /// A part was removed and is still off when the job ends.
    ///
    /// ## At the bench
    ///
    /// The machine goes back to its shelf with a part left on the bench.
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
    /// 1. [](note:pump-rod)
    /// 2. [](remove:pump-rod)
    /// ```
    ///
    /// ## Fix
    ///
    /// Fit the part, let `{.reverse}` write the reassembly, or give the reason under `[left-undone]`.
    "part-left-off", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (part, state) in ending.end.parts() {
        let id = &part.key;
        if state.place != PartPlace::Off || ending.job.is_left(part.id) {
            continue;
        }
        let message = format!("`{id}` is still off when the job ends");
        let finding = ending.finding(&RULE, message, state.since, "removed here and never refitted").because_of(Blamed::Part(id), state.since).help(format!(
            "add {} where it is put back; if it stays off on purpose, give the reason under `[left-undone]`",
            refit(part)
        ));
        findings.push(finding.propose(
            Place::Late,
            actions_of_closing(ending.end, ending.job.machine, part),
        ));
    }
}
