//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use super::shared::dangers;
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::{EnergyState, Scene};
use crate::verbs::Trait;

rule! {
    /// A part is worked on after an energy source was isolated but before it was proved safe.
    ///
    /// ## At the bench
    ///
    /// The switch was off, but the switch was broken.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [energy.spring-lever]
    /// name = "spring of the lever"
    /// kind = "spring"
    /// endangers = ["lid"]
    /// isolate = "Hook the lever down"
    /// prove = "Let go: the lever stays"
    /// restore = "Unhook the lever"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](isolate:spring-lever)
    /// 2. [](clean:lid)
    /// 3. [](restore:spring-lever)
    /// ```
    ///
    /// ## Fix
    ///
    /// Prove the energy source safe after isolating it.
    "energy-not-proved", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::With(Trait::PutsHandsIn, check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for (energy, state) in dangers(scene, EnergyState::Isolated) {
        let message = format!(
            "`{}` is worked on before `{}` is proved safe",
            scene.action.thing.key(),
            energy.key,
        );
        findings.push(
            scene
                .finding(&RULE, message, "worked on here")
                .help(format!("add `[](prove:{})` before this step", energy.key))
                .propose(Place::Before, [format!("prove:{}", energy.key)])
                .blame(
                    Blamed::Energy(&energy.key),
                    state.since,
                    "isolated here, not proved",
                ),
        );
    }
}
