//! See [`RULE`].

use super::advice::making_safe;
use super::check::On;
use super::context::Blamed;
use super::shared::dangers;
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::{EnergyState, Scene};
use crate::verbs::Trait;

rule! {
    /// A part is worked on while an energy source that endangers the mechanic is live.
    ///
    /// `endangers` on an energy source names what it makes dangerous to put hands on: parts, fluids, valves,
    /// readings and other energy sources. Without `endangers`, ignition, electricity and motion endanger anybody
    /// who puts hands on any part, also to inspect, clean, note or measure. Allowed are readings with
    /// `engine = "running"`, cleaning and inspecting a part that is off, and what `may-be-live` on the reading or
    /// the part names.
    ///
    /// ## At the bench
    ///
    /// The engine fires when the blade is turned by hand.
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
    /// 1. [](clean:lid)
    /// ```
    ///
    /// ## Fix
    ///
    /// Isolate it and prove it safe first, most simply with `begin = ["make-safe"]`. If a reading or an inspection
    /// is only possible while the energy source is live, name that in `may-be-live`.
    "work-on-live-energy", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::With(Trait::PutsHandsIn, check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for (energy, state) in dangers(scene, EnergyState::Live) {
        let message = format!(
            "`{}` is worked on while `{}` is live",
            scene.action.thing.key(),
            energy.key,
        );
        findings.push(
            scene
                .finding(&RULE, message, "worked on here")
                .secondary(energy.span, "this energy source")
                .help(making_safe(energy))
                .propose(
                    Place::Before,
                    [
                        format!("isolate:{}", energy.key),
                        format!("prove:{}", energy.key),
                    ],
                )
                .blame(Blamed::Energy(&energy.key), state.since, "made live here"),
        );
    }
}
