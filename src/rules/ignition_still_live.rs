//! See [`RULE`].

use super::advice::making_safe;
use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Level, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{EnergyState, Scene};
use crate::shop::Energy;
use crate::verbs::endangers_hands_at;

rule! {
    /// A motion, spring, pressure or raised weight is isolated or restored before the ignition is proved safe.
    ///
    /// If the ignition is isolated and only its proof comes later, isolating the other energy is reported as advice:
    /// 29 CFR 1910.147(d) has stored energy released (5) before isolation is verified (6). Either order is reported as
    /// an error by `energy-not-proved` if work begins before the proof.
    ///
    /// ## At the bench
    ///
    /// A hand is at the blade to take the block out, and somebody pulls the starter.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [energy.ignition]
    /// name = "ignition"
    /// kind = "ignition"
    /// endangers = ["spring-lever"]
    /// isolate = "Pull the cap"
    /// prove = "Pull the starter: it doesn't fire"
    /// restore = "Push the cap on"
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
    /// 2. [](prove:spring-lever)
    /// 3. [](restore:spring-lever)
    /// ```
    ///
    /// ## Fix
    ///
    /// Isolate and prove the ignition first, and restore it last.
    "ignition-still-live", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Energy(&[Verb::Isolate, Verb::Restore], check)];

fn check(scene: &Scene<'_, '_>, energy: &Energy, findings: &mut Findings) {
    for ignition in scene.machine.energies.values() {
        let state = scene.before.energy(ignition.id);
        if !endangers_hands_at(ignition, energy) {
            continue;
        }
        let key = &ignition.key;
        let is_restored_first = scene.action.verb == Verb::Restore && state.since.is_some();
        let (when, label, help, actions) = match state.now {
            EnergyState::Live if is_restored_first => (
                format!("while `{key}` is live"),
                "restored here",
                format!("move this step above the one that restores `{key}`"),
                Vec::new(),
            ),
            EnergyState::Live => (
                format!("while `{key}` is live"),
                "restored here",
                making_safe(ignition),
                vec![format!("isolate:{key}"), format!("prove:{key}")],
            ),
            EnergyState::Isolated => (
                format!("before `{key}` is proved safe"),
                "isolated here, not proved",
                format!("add `[](prove:{key})` before this step"),
                vec![format!("prove:{key}")],
            ),
            EnergyState::Proved => continue,
        };
        let (verb, id) = (scene.action.verb.word(), &energy.key);
        let message = format!("`{verb}:{id}` is done {when}");
        // The order of 29 CFR 1910.147(d), from memory: stored energy is released in (5), and isolation is verified in
        // (6).
        let is_verified_later =
            state.now == EnergyState::Isolated && scene.action.verb == Verb::Isolate;
        let danger = if is_verified_later {
            "made safe before the proof"
        } else {
            "hands are in danger here"
        };
        let mut finding = scene
            .finding(&RULE, message, danger)
            .help(help)
            .propose(Place::Before, actions)
            .blame(Blamed::Energy(key), state.since, label);
        if is_verified_later {
            finding.level = Level::Advice;
        }
        findings.push(finding);
    }
}
