//! See [`RULE`].

use super::advice::clearing;
use super::check::On;
use crate::finding::{Findings, Span, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::{Fluid, PartId};

rule! {
    /// A fluid is filled while its filler cap is on, or drained while its drain plug is in.
    ///
    /// `through` on a fluid names the part that must be off to fill it. `drains` on a part names the
    /// fluid that runs out when the part is off.
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
    let mut plugs = scene.machine.drain_plugs(fluid.id).peekable();
    if let Some(plug) = plugs.peek().copied()
        && plugs.all(|plug| is_on(scene, plug.id))
    {
        report(scene, fluid, "drained", plug.id, plug.span, findings);
    }
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
            .since(scene.before.part(part).since, "fitted here"),
    );
}
