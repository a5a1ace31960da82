//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is fitted after a fastener that holds it was started.
    ///
    /// ## At the bench
    ///
    /// The nut is already on the stud, and the plate it should hold is still on the bench.
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
    /// 1. [](remove:cover-nut)
    /// 2. [](remove:cover)
    /// 3. [](fit:cover-nut)
    /// 4. [](fit:cover)
    /// 5. [](tighten:cover-nut)
    /// ```
    ///
    /// ## Fix
    ///
    /// Fit the part before its fasteners are started.
    "fastener-started-too-early", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    if scene.before.part(part.id).place != PartPlace::Off {
        return;
    }
    let removed_at = scene.before.part(part.id).removed_at;
    for holder in &part.held_by {
        let state = scene.before.part(holder.value);
        // A slotted part that was removed with its fastener in place can be refitted the same way.
        if state.removed_at > removed_at {
            continue;
        }
        // `fitted-before-part-behind` reports a fastener that is also in front of the part.
        if part.behind.iter().any(|front| front.value == holder.value) {
            continue;
        }
        let is_started = matches!(state.how, Some((Verb::Fit | Verb::Renew, _)));
        if state.place != PartPlace::Loose || !is_started {
            continue;
        }
        let fastener = &scene.machine.parts[holder.value].key;
        let message = format!("`{}` is fitted after `{fastener}` was started", part.key);
        findings.push(
            scene
                .finding(&RULE, message, "fitted here")
                .secondary(holder.span, "holds it")
                .help(format!(
                    "fit `{}` first: move this step above the one that starts `{fastener}`",
                    part.key
                ))
                .blame(Blamed::Part(fastener), state.since, "started here"),
        );
    }
}
