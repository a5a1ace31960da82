//! See [`RULE`].

use super::advice::clearing;
use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Level, Place, Span, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::{Fluid, FluidState, Part, PartId};

rule! {
    /// A fluid is filled while its filler cap is on, or drained while its drain plug is in.
    ///
    /// `through` on a fluid names the part that must be off to fill it. `drains` on a part names the fluid that runs
    /// out when the part is off. While the filler cap is off, a fluid may be sucked or tipped out there. If the drain
    /// plug comes off after that, it is advice: perhaps two steps are swapped.
    ///
    /// ## At the bench
    ///
    /// The fluid can't get in or out, or the cap was refitted before the tank was filled.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// through = "lid"
    /// [part.lid]
    /// name = "lid"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](fill:water)
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the cap or plug first, and refit it afterwards.
    "filled-or-drained-while-closed", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[
    On::Fluid(&[Verb::Fill], check_fill),
    On::Fluid(&[Verb::Drain], check_drain),
    On::Part(&[Verb::Remove], check_plug),
];

fn check_fill(scene: &Scene<'_, '_>, fluid: &Fluid, findings: &mut Findings) {
    if let Some(through) = &fluid.through
        && is_on(scene, through.value)
    {
        report(
            scene,
            fluid,
            "filled",
            through.value,
            through.span,
            findings,
        );
    }
}

fn check_drain(scene: &Scene<'_, '_>, fluid: &Fluid, findings: &mut Findings) {
    // It can be sucked or tipped out where it is filled in.
    if fluid
        .through
        .as_ref()
        .is_some_and(|through| !is_on(scene, through.value))
    {
        return;
    }
    let mut plugs = scene.machine.drain_plugs(fluid.id).peekable();
    if let Some(plug) = plugs.peek().copied()
        && plugs.all(|plug| is_on(scene, plug.id))
    {
        report(scene, fluid, "drained", plug.id, plug.span, findings);
    }
}

/// The plug of a fluid that was drained through the filler: perhaps two steps are swapped.
fn check_plug(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let Some(fluid) = part.drains.as_ref().map(|fluid| fluid.value) else {
        return;
    };
    let mut plugs = scene.machine.drain_plugs(fluid);
    if plugs.any(|plug| plug.id != part.id && scene.before.part(plug.id).removed_at.is_some()) {
        return;
    }
    let drained = scene.before.fluid(fluid);
    let drained_at = drained.since.map(|drained| drained.index);
    let was_on = drained_at > scene.before.part(part.id).since.map(|since| since.index);
    if drained.now != FluidState::Empty || !was_on || !is_on(scene, part.id) {
        return;
    }
    let (id, fluid) = (&part.key, &scene.machine.fluids[fluid].key);
    let message = format!("`{fluid}` is drained before `{id}` comes off");
    let mut finding = scene
        .finding(&RULE, message, "removed here")
        .help(format!(
            "move `[](drain:{fluid})` after this step, unless it runs out through its filler"
        ))
        .since(drained.since, "drained here");
    finding.level = Level::Advice;
    findings.push(finding);
}

fn is_on(scene: &Scene<'_, '_>, part: PartId) -> bool {
    scene.before.part(part).place != PartPlace::Off
}

fn report(
    scene: &Scene<'_, '_>,
    fluid: &Fluid,
    done: &str,
    part: PartId,
    place: Span,
    findings: &mut Findings,
) {
    let key = &scene.machine.parts[part].key;
    let message = format!("`{}` is {done} while `{key}` is on", fluid.key);
    findings.push(
        scene
            .finding(&RULE, message, "done here")
            .secondary(place, "must be off")
            .help(clearing(scene, &scene.machine.parts[part]))
            .propose(Place::Back, [format!("remove:{key}")])
            .blame(
                Blamed::Part(key),
                scene.before.part(part).since,
                "fitted here",
            ),
    );
}
