//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{EnergyState, Moment, Scene};
use crate::shop::{Energy, EnergyKind, LostBy, MachineAction, RunCondition, ThingId};

rule! {
    /// A job waits until the engine is cold, and makes the ignition safe only after that.
    ///
    /// The wait is the confirmation of a condition that a run of the engine ends, `lost-by = ["run:engine"]`, and
    /// whose name says that something is cold or cool. Other conditions are not reported: a machine is parked before
    /// its ignition is isolated.
    ///
    /// ## At the bench
    ///
    /// The machine stands in the bay for half an hour with its plug cap on. Somebody starts it to move it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [engine]
    /// kind = "4-stroke"
    /// [part.flywheel]
    /// name = "flywheel"
    /// [energy.ignition]
    /// kind = "ignition"
    /// endangers = ["flywheel"]
    /// isolate = "Pull the plug cap"
    /// prove = "Pull the starter: it doesn't fire"
    /// restore = "Push the plug cap on"
    /// [condition.cold]
    /// name = "cold to the hand"
    /// lost-by = ["run:engine"]
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](confirm:cold)
    /// 2. [](isolate:ignition)
    /// 3. [](prove:ignition)
    /// 4. [](restore:ignition)
    /// ```
    ///
    /// ## Fix
    ///
    /// Isolate the ignition first, prove it safe, and then wait.
    "isolated-after-waiting", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Energy(&[Verb::Isolate], check)];

const RUN: LostBy = LostBy::Action(MachineAction {
    verb: Verb::Run,
    thing: ThingId::Engine,
});

fn check(scene: &Scene<'_, '_>, energy: &Energy, findings: &mut Findings) {
    let before = scene.before.energy(energy.id);
    if energy.kind != Some(EnergyKind::Ignition) || before.now != EnergyState::Live {
        return;
    }
    let index = |since: Option<Moment>| since.map(|moment| moment.index);
    for condition in scene.machine.conditions.values() {
        // What was confirmed while the ignition was still safe was not waited for beside a live one.
        let wait = scene.before.condition(condition.id);
        let wait = wait.filter(|wait| Some(wait.index) > index(before.since));
        let is_ended = || condition.lost_by.iter().any(|by| by.value == RUN);
        let Some(wait) = wait.filter(|_| is_ended() && is_for_cold(condition)) else {
            continue;
        };
        let message = format!(
            "`{}` is isolated after the wait for `{}`",
            energy.key, condition.key
        );
        findings.push(
            scene
                .finding(&RULE, message, "isolated here")
                .secondary(wait.span, "waited for here")
                .help(format!(
                    "isolate and prove `{}` before the wait",
                    energy.key
                )),
        );
    }
}

/// Whether the name of a condition says that something is cold, in English or Spanish.
fn is_for_cold(condition: &RunCondition) -> bool {
    let name = condition.name.to_lowercase();
    let mut words = name.split(|letter: char| !letter.is_alphabetic());
    words.any(|word| {
        let stems = ["cold", "cool", "frí", "enfri"];
        stems.iter().any(|stem| word.starts_with(stem))
    })
}
