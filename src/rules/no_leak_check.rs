//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::{Energy, EnergyKind};

rule! {
    /// The ignition is restored before a refitted part that carries a fluid is inspected for leaks.
    ///
    /// The leak check is `inspect:` on the part once it is refitted, the fluid is in and its valve is
    /// open.
    ///
    /// ## At the bench
    ///
    /// The first spark finds the leak.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [energy.ignition]
    /// kind = "ignition"
    /// endangers = ["hose"]
    /// isolate = "Pull the cap"
    /// prove = "No spark"
    /// restore = "Push the cap home"
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
    /// 1. [](isolate:ignition)
    /// 2. [](prove:ignition)
    /// 3. [](close:cock)
    /// 4. [](remove:hose)
    /// 5. [](fit:hose)
    /// 6. [](open:cock)
    /// 7. [](restore:ignition)
    /// ```
    ///
    /// ## Fix
    ///
    /// Inspect the part after opening the valve and before restoring the ignition.
    "no-leak-check", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Energy(&[Verb::Restore], check)];

fn check(scene: &Scene<'_, '_>, energy: &Energy, findings: &mut Findings) {
    if energy.kind != Some(EnergyKind::Ignition) {
        return;
    }
    for (part, state) in scene.before.parts() {
        let id = &part.key;
        let Some(refitted) = state.leak_check_due.filter(|_| part.carries.is_some()) else {
            continue;
        };
        let message = format!("the ignition is restored before `{id}` is inspected for leaks");
        findings.push(
            scene
                .finding(&RULE, message, "restored here")
                .secondary(refitted.span, "refitted here")
                .help(format!(
                    "add `[](inspect:{id})` once the fluid is in and its valve is open"
                )),
        );
    }
}
