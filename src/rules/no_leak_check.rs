//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{Moment, PartState, Scene};
use crate::shop::{Energy, EnergyKind, EngineNeed, Machine, Part};

rule! {
    /// The ignition is restored before a refitted part that carries a fluid is inspected for leaks.
    ///
    /// The leak check is `inspect:` on the part once it is refitted, the fluid is in and its valve is
    /// open. Oil and water that are under pressure only while the engine runs have `leak-check = "running"`: the part
    /// is inspected after a run of the engine has begun, and before the job ends.
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
    /// Inspect the part after opening the valve and before restoring the ignition. With `leak-check = "running"` on the
    /// fluid, inspect it during the run or after it.
    "no-leak-check", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[
    On::Energy(&[Verb::Restore], check),
    On::Ending(check_ending),
];

fn check(scene: &Scene<'_, '_>, energy: &Energy, findings: &mut Findings) {
    if energy.kind != Some(EnergyKind::Ignition) {
        return;
    }
    for (part, state) in scene.before.parts() {
        let id = &part.key;
        let Some(refitted) = due(scene.machine, part, state, EngineNeed::Stopped) else {
            continue;
        };
        let message = format!("the ignition is restored before `{id}` is inspected for leaks");
        findings.push(
            scene
                .finding(&RULE, message, "restored here")
                .secondary(refitted.span, "refitted here")
                .help(format!(
                    "add `[](inspect:{id})` before this step, once the fluid is in and its valve is open"
                ))
                .propose(Place::Before, [format!("inspect:{id}")]),
        );
    }
}

/// A job that does not run the engine after the part was refitted can't show a leak.
fn check_ending(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (part, state) in ending.end.parts() {
        let id = &part.key;
        let refitted = due(ending.job.machine, part, state, EngineNeed::Running);
        if refitted.is_none() || !ending.end.has_run_since_refitted(part) {
            continue;
        }
        let message =
            format!("the engine was run, but `{id}` is not inspected for leaks when the job ends");
        let finding = ending.finding(&RULE, message, refitted, "refitted here");
        findings.push(
            finding
                .help(format!(
                    "add `[](inspect:{id})` after the engine is started"
                ))
                .propose(Place::Late, [format!("inspect:{id}")]),
        );
    }
}

/// The action that refitted a part, if its joint is still to be inspected for leaks in this state of the engine.
fn due(machine: &Machine, part: &Part, state: &PartState, engine: EngineNeed) -> Option<Moment> {
    let fluid = part.carries.as_ref()?.value;
    state
        .leak_check_due
        .filter(|_| machine.fluids[fluid].leak_check == engine)
}
