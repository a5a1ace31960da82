//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::{FluidState, RunCondition};

rule! {
    /// A condition is confirmed while a fluid that must be drained before it is in the machine.
    ///
    /// `drained` on a condition names these fluids: the petrol of a mower that is tipped, the oil of an engine that
    /// is turned over.
    ///
    /// ## At the bench
    ///
    /// A mower is tipped with a full tank. Petrol runs out of the vent of its cap, over the engine and the floor.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// [condition.tipped]
    /// name = "tipped over and blocked"
    /// drained = ["water"]
    /// lost-by = "nothing"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](confirm:tipped)
    /// ```
    ///
    /// ## Fix
    ///
    /// Drain the fluid first.
    "confirmed-while-full", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Condition(&[Verb::Confirm], check)];

fn check(scene: &Scene<'_, '_>, condition: &RunCondition, findings: &mut Findings) {
    for fluid in &condition.drained {
        let state = scene.before.fluid(fluid.value);
        if state.now != FluidState::Full {
            continue;
        }
        let key = &scene.machine.fluids[fluid.value].key;
        let message = format!("`{}` is confirmed while `{key}` is full", condition.key);
        findings.push(
            scene
                .finding(&RULE, message, "confirmed here")
                .secondary(fluid.span, "must be drained before")
                .since(state.since, "filled here")
                .help(format!("add `[](drain:{key})` before this step")),
        );
    }
}
