//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::{Fluid, FluidState};

rule! {
    /// The whole capacity of a fluid is to be filled in, but the fluid is not drained before.
    ///
    /// `fill:oil/all` means the whole capacity. `fill:oil` alone means a top-up if the oil is in.
    ///
    /// ## At the bench
    ///
    /// The tank overflows, or the engine is run with twice its oil.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](fill:water/all)
    /// ```
    ///
    /// ## Fix
    ///
    /// Drain the fluid first, or write `fill:water` to top it up.
    "full-quantity-without-draining", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fluid(&[Verb::Fill], check)];

fn check(scene: &Scene<'_, '_>, fluid: &Fluid, findings: &mut Findings) {
    let state = scene.before.fluid(fluid.id);
    if !scene.action.is_whole || state.now == FluidState::Empty {
        return;
    }
    let message = format!(
        "the whole capacity of `{}` is filled in, but it is not drained",
        fluid.key
    );
    findings.push(
        scene
            .finding(&RULE, message, "filled here")
            .since(state.since, "filled before here")
            .help(format!(
                "add `[](drain:{0})` before this step, or write `fill:{0}` if it is only topped up",
                fluid.key
            )),
    );
}
