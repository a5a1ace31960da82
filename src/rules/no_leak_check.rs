//! See [`RULE`].

use super::check::On;
use super::context::{Blamed, Ending, all_of, named};
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{Moment, PartState, Scene};
use crate::shop::{Energy, EnergyKind, EngineNeed, FluidId, FluidState, Machine, Part};

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
    let parts = scene.before.parts().filter_map(|(part, state)| {
        let refitted = due(scene.machine, part, state, EngineNeed::Stopped)?;
        Some((part, part.carries.as_ref()?.value, refitted))
    });
    let due: Vec<(&Part, FluidId, Moment)> = parts.collect();
    let keys: Vec<&str> = due.iter().map(|(part, ..)| part.key.as_str()).collect();
    let Some((names, are)) = named(&keys) else {
        return;
    };
    let message = format!("the ignition is restored before {names} {are} inspected for leaks");
    let missing: Vec<String> = keys.iter().map(|key| format!("inspect:{key}")).collect();
    let links: Vec<String> = missing
        .iter()
        .map(|action| format!("`[]({action})`"))
        .collect();
    let links: Vec<&str> = links.iter().map(String::as_str).collect();
    let finding = scene
        .finding(&RULE, message, "restored here")
        .help(format!(
            "add {} before this step, once the fluid is in and its valve is open",
            all_of(&links)
        ))
        .propose(Place::Before, missing);
    let marked = due.into_iter();
    findings.push(marked.fold(finding, |finding, (part, fluid, refitted)| {
        let finding = finding.secondary(refitted.span, "refitted here");
        let state = scene.before.fluid(fluid);
        match state.now {
            // Nothing would leak.
            FluidState::Empty => {
                let key = &scene.machine.fluids[fluid].key;
                finding.because_of(Blamed::Fluid(key), state.since)
            }
            FluidState::Full => finding.because_of(Blamed::Inspection(&part.key), None),
        }
    }));
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
