//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, rule};

rule! {
    /// A part's position is noted, but the part is never removed.
    ///
    /// ## At the bench
    ///
    /// Perhaps the step that removes the part is missing. If not, the note is of no use.
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
    /// 1. [](note:pump-rod)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write `remove:` in the step that takes the part off. The position of a part that stays on need not be noted.
    "noted-but-not-removed", Rehearsal, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (part, state) in ending.end.parts() {
        let id = &part.key;
        if state.noted.is_none() || state.removed_at.is_some() {
            continue;
        }
        let message = format!("the position of `{id}` is noted, but `{id}` is never removed");
        let finding = ending.finding(&RULE, message, state.noted, "noted here");
        findings.push(finding.help(format!(
            "write `[](remove:{id})` in the step that takes it off; a part that stays on needs no note"
        )));
    }
}
