//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::{FluidState, Reading};

rule! {
    /// A reading of a fluid is taken while the fluid is drained.
    ///
    /// `fluid` on a reading is what it measures: the level of the oil, the density of the acid.
    ///
    /// ## At the bench
    ///
    /// The dipstick is dry, or shows the film of the old oil.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + supplies.toml
    /// [supply.oil]
    /// name = "oil"
    /// === + machines/hand-pump.toml
    /// [fluid.oil]
    /// name = "oil"
    /// supply = "oil"
    /// [reading.oil-level]
    /// name = "oil level"
    /// marks = ["MIN", "MAX"]
    /// fluid = "oil"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](drain:oil)
    /// 2. [](measure:oil-level)
    /// 3. [](fill:oil)
    /// 4. [](measure:oil-level)
    /// ```
    ///
    /// ## Fix
    ///
    /// Fill the fluid in before it is measured.
    "reading-of-drained-fluid", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Measure, Verb::Adjust], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    let Some(fluid) = &reading.fluid else {
        return;
    };
    let state = scene.before.fluid(fluid.value);
    if state.now == FluidState::Full {
        return;
    }
    let key = &scene.machine.fluids[fluid.value].key;
    let message = format!("`{}` is measured while `{key}` is drained", reading.key);
    findings.push(
        scene
            .finding(&RULE, message, "measured here")
            .secondary(fluid.span, "the fluid that it measures")
            .help(format!("add `[](fill:{key})` before this step"))
            .propose(Place::Before, [format!("fill:{key}")])
            .blame(Blamed::Fluid(key), state.since, "drained here"),
    );
}
