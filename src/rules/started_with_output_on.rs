//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{EnergyState, Scene};
use crate::shop::{Energy, EnergyKind};

rule! {
    /// A generator's engine is started while its electrical output is on.
    ///
    /// Its output is an energy source of the kind `"electrical"` on a machine with `[generator]`, and not its battery.
    /// With nothing plugged in there is no load, so this is advice.
    ///
    /// ## At the bench
    ///
    /// The engine starts under load, and what is plugged in gets a voltage and a frequency that are not yet right
    /// (common practice, no source).
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [engine]
    /// kind = "4-stroke"
    /// [generator]
    /// poles = 2
    /// frequency = "50 Hz"
    /// [part.socket]
    /// name = "socket"
    /// [energy.output]
    /// kind = "electrical"
    /// endangers = ["socket"]
    /// isolate = "Set the breaker to off"
    /// prove = "Try the socket: no voltage"
    /// restore = "Set the breaker to on"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](run:engine)
    /// 2. [](stop:engine)
    /// ```
    ///
    /// ## Fix
    ///
    /// Isolate the output before the engine is run, and restore it once the engine runs at its speed. `may-lack` under
    /// `[run]` on the machine names it.
    "started-with-output-on", Rehearsal, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Action(&[Verb::Run], check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    if scene.machine.generator.is_none() {
        return;
    }
    for (energy, state) in scene.before.energies() {
        let is_output = energy.kind == Some(EnergyKind::Electrical) && !is_battery(energy);
        if !is_output || state.now != EnergyState::Live {
            continue;
        }
        let message = format!("the engine is started while `{}` is on", energy.key);
        findings.push(
            scene
                .finding(&RULE, message, "started here")
                .since(state.since, "switched on here")
                .help(format!(
                    "isolate `{0}` before this step, and restore it while the engine runs: `[](restore:{0})`",
                    energy.key
                )),
        );
    }
}

/// Whether the name of an energy says that it is a battery, in English or Spanish.
fn is_battery(energy: &Energy) -> bool {
    let name = energy.name.to_lowercase();
    ["battery", "batería"]
        .iter()
        .any(|word| name.contains(word))
}
