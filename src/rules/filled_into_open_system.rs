//! See [`RULE`].

use super::advice::{actions_of_closing, closing};
use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Fluid;

rule! {
    /// A fluid is filled while a part that carries it, or its drain plug, is off or loose.
    ///
    /// The part that it is filled through is off on purpose, even if it is the drain plug as well: a gear case that is
    /// tilted to empty it has one plug for both.
    ///
    /// ## At the bench
    ///
    /// The fluid runs out where the part is missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// [valve.cock]
    /// name = "cock"
    /// shuts = "water"
    /// [part.hose]
    /// name = "hose"
    /// carries = "water"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](close:cock)
    /// 2. [](remove:hose)
    /// 3. [](fill:water)
    /// 4. [](fit:hose)
    /// 5. [](inspect:hose)
    /// 6. [](open:cock)
    /// ```
    ///
    /// ## Fix
    ///
    /// Refit the part and tighten what holds it first.
    "filled-into-open-system", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fluid(&[Verb::Fill], check)];

fn check(scene: &Scene<'_, '_>, fluid: &Fluid, findings: &mut Findings) {
    for (part, state) in scene.before.parts() {
        let id = &part.key;
        let mut fluids = [&part.carries, &part.drains].into_iter().flatten();
        let holds = fluids.any(|carried| carried.value == fluid.id);
        let is_filler = fluid
            .through
            .as_ref()
            .is_some_and(|through| through.value == part.id);
        if state.place == PartPlace::On || !holds || is_filler {
            continue;
        }
        let message = format!("`{}` is filled while `{id}` is off or loose", fluid.key);
        findings.push(
            scene
                .finding(&RULE, message, "filled here")
                .help(closing(part, state.place))
                .propose_undoing(
                    state.since.map(|moment| moment.span),
                    actions_of_closing(scene.before, scene.machine, part),
                )
                .blame(Blamed::Part(id), state.since, "opened here"),
        );
    }
}
