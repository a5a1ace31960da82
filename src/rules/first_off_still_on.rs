//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Located, rule};
use crate::job::Thing;
use crate::rehearsal::{PartPlace, PartState, Scene};
use crate::shop::{Part, PartId};
use crate::verbs::Trait;

rule! {
    /// A part, or a fastener that holds it, is worked on while the part that has to be off first is still on.
    ///
    /// `off-first` on a part names the parts that wait for it. It comes off before anybody puts a tool to them, and
    /// goes back when their work is done.
    ///
    /// ## At the bench
    ///
    /// With the negative lead on, a spanner between the positive terminal and the frame carries the whole current of
    /// the battery. It glows, and the battery can burst.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.negative-lead]
    /// name = "negative lead"
    /// off-first = ["positive-lead"]
    /// [part.positive-lead]
    /// name = "positive lead"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](remove:positive-lead)
    /// 2. [](remove:negative-lead)
    /// 3. [](fit:positive-lead)
    /// 4. [](fit:negative-lead)
    /// ```
    ///
    /// ## Fix
    ///
    /// Take the part off first, and fit it last.
    "first-off-still-on", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::With(Trait::TakesTools, check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.action.thing else {
        return;
    };
    let machine = scene.machine;
    report(scene, part, None, findings);
    for held in &machine.named_by[part.id].holds {
        report(scene, &machine.parts[held.value], Some(part), findings);
    }
}

/// Reports work on `waiting`, or on a fastener that holds it, if a part that has to be off first is on.
fn report(scene: &Scene<'_, '_>, waiting: &Part, fastener: Option<&Part>, findings: &mut Findings) {
    for first in &scene.machine.named_by[waiting.id].off_first {
        let state = scene.before.part(first.value);
        // A fastener is no obstacle to itself or to what it holds.
        let is_own_fastener = fastener.is_some_and(|fastener| {
            fastener.id == first.value || holds(scene, fastener, first.value)
        });
        if state.place == PartPlace::Off || is_own_fastener {
            continue;
        }
        if was_reported(scene, waiting, state) {
            continue;
        }
        let first_key = &scene.machine.parts[first.value].key;
        let worked_on = &fastener.unwrap_or(waiting).key;
        let message = format!("`{worked_on}` is worked on while `{first_key}` is on");
        findings.push(
            scene
                .finding(&RULE, message, "worked on here")
                .secondary(first.span, "has to wait until the other is off")
                .blame(Blamed::Part(first_key), state.since, "last fitted here")
                .help(format!(
                    "take `{first_key}` off before this step, and fit it after the last step on `{}`",
                    waiting.key
                )),
        );
    }
}

fn holds(scene: &Scene<'_, '_>, fastener: &Part, part: PartId) -> bool {
    let held: &[Located<PartId>] = &scene.machine.named_by[fastener.id].holds;
    held.iter().any(|held| held.value == part)
}

/// Whether the waiting part or a fastener of it was already worked on since the first part is on. It is one mistake,
/// reported at the first of these steps.
fn was_reported(scene: &Scene<'_, '_>, waiting: &Part, first: PartState) -> bool {
    let index = |state: PartState| state.since.map(|moment| moment.index);
    let holders = waiting.held_by.iter().map(|holder| holder.value);
    let mut parts = holders.chain([waiting.id]);
    parts.any(|part| index(scene.before.part(part)) > index(first))
}
