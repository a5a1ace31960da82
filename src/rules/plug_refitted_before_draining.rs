//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::{FluidState, Part};

rule! {
    /// A drain plug is refitted before its fluid was drained.
    ///
    /// `drains` on a part names the fluid that runs out when the part is off. A plug that the fluid is filled through
    /// as well is not reported: it is also taken out to look at the level.
    ///
    /// ## At the bench
    ///
    /// The old oil stays in, and the new oil is poured on top.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// [part.plug]
    /// name = "plug"
    /// drains = "water"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](remove:plug)
    /// 2. [](fit:plug)
    /// ```
    ///
    /// ## Fix
    ///
    /// Add `[](drain:…)` while the plug is out.
    "plug-refitted-before-draining", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    let Some(drains) = part
        .drains
        .as_ref()
        .filter(|_| before.place == PartPlace::Off)
    else {
        return;
    };
    let fluid = &scene.machine.fluids[drains.value];
    let is_filler = fluid
        .through
        .as_ref()
        .is_some_and(|through| through.value == part.id);
    if is_filler || scene.before.fluid(drains.value).now == FluidState::Empty {
        return;
    }
    let fluid = &fluid.key;
    let message = format!("`{}` is refitted, but `{fluid}` was not drained", part.key);
    findings.push(
        scene
            .finding(&RULE, message, "refitted here")
            .help(format!("add `[](drain:{fluid})` before this step"))
            .propose(Place::Back, [format!("drain:{fluid}")])
            .since(before.since, "removed here")
            .because_of(Blamed::Fluid(fluid), scene.before.fluid(drains.value).since),
    );
}
