//! See [`RULE`].

use super::advice::making_safe;
use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::quantity::Kind;
use crate::rehearsal::{EnergyState, EngineState, PartPlace, Scene};
use crate::shop::{EnergyKind, Reading};
use crate::verbs::endangers;

rule! {
    /// A resistance is measured while the circuit can be live.
    ///
    /// That is while the engine runs, or while an ignition or an electrical energy is live. Continuity is a resistance as
    /// well. `may-be-live` does not allow it: a meter that is set to ohms feeds the circuit itself. If the reading is
    /// `without` a part, such as a plug, a lead or a brush, and that is off, the circuit is apart from its source.
    ///
    /// ## At the bench
    ///
    /// The reading is wrong, because two currents add up in it. The meter's fuse blows, or the meter.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [energy.mains]
    /// name = "mains"
    /// kind = "electrical"
    /// endangers = ["winding-cover"]
    /// isolate = "Pull the plug"
    /// prove = "Press the button: nothing starts"
    /// restore = "Push the plug in"
    /// [reading.winding]
    /// name = "winding"
    /// limits = "20 Ω ± 2 Ω"
    /// [part.winding-cover]
    /// name = "winding cover"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](measure:winding)
    /// ```
    ///
    /// ## Fix
    ///
    /// Isolate the energy source and prove it safe first, or take the plug of the circuit off and name it in `without`.
    "resistance-on-live-circuit", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Measure], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    let limits = reading.limits.as_ref();
    let is_resistance =
        limits.is_some_and(|limits| limits.spec.value.limits().kind() == Kind::Resistance);
    if !is_resistance || is_disconnected(scene, reading) {
        return;
    }
    let engine = scene.before.engine();
    if engine.now == EngineState::Running {
        let message = format!(
            "`{}` is a resistance, measured while the engine runs",
            reading.key
        );
        findings.push(
            scene
                .finding(&RULE, message, "measured here")
                .help("stop the engine before this step")
                .blame(Blamed::Engine, engine.since, "started here"),
        );
        return;
    }
    for (energy, state) in scene.before.energies_in(EnergyState::Live) {
        let is_electric = matches!(
            energy.kind,
            Some(EnergyKind::Ignition | EnergyKind::Electrical)
        );
        // Where hands are endangered as well, that is the finding.
        if !is_electric || endangers(energy, scene.action, scene.before) {
            continue;
        }
        let message = format!(
            "`{}` is a resistance, measured while `{}` is live",
            reading.key, energy.key
        );
        findings.push(
            scene
                .finding(&RULE, message, "measured here")
                .secondary(energy.span, "this energy source")
                .help(making_safe(energy))
                .blame(Blamed::Energy(&energy.key), state.since, "made live here"),
        );
    }
}

/// Whether the reading is taken with a part off that may open the circuit, and it is off. A part need not have `wires` for that:
/// a brush that is off its ring opens it as well.
fn is_disconnected(scene: &Scene<'_, '_>, reading: &Reading) -> bool {
    let mut parts = reading.without.iter();
    parts.any(|part| scene.before.part(part.value).place == PartPlace::Off)
}
