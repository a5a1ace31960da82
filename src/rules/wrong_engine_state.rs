//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{EngineState, Scene};
use crate::shop::{EngineNeed, Reading};

rule! {
    /// A reading is measured with the engine stopped although it must be running, or the other way round.
    ///
    /// `engine` on a reading is `"running"` or `"stopped"`.
    ///
    /// ## At the bench
    ///
    /// The sheet asks for a speed while the engine is stopped, so the recorded figure is made up.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.speed]
    /// name = "speed"
    /// limits = "3000 rpm ± 100 rpm"
    /// engine = "running"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](measure:speed)
    /// ```
    ///
    /// ## Fix
    ///
    /// Measure with the engine in the required state, or correct `engine` on the reading.
    "wrong-engine-state", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Measure], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    let engine = scene.before.engine();
    let Some(need) = &reading.engine else {
        return;
    };
    let (actual, label, help) = match (need.value, engine.now) {
        (EngineNeed::Running, EngineState::Stopped) => (
            "is stopped",
            "stopped here",
            "move this step between `[](run:engine)` and `[](stop:engine)`",
        ),
        (EngineNeed::Stopped, EngineState::Running) => (
            "is running",
            "started here",
            "add `[](stop:engine)` before this step",
        ),
        _ => return,
    };
    let message = format!("`{}` is measured while the engine {actual}", reading.key);
    findings.push(
        scene
            .finding(&RULE, message, "measured here")
            .secondary(need.span, "required engine state")
            .help(help)
            .propose(
                Place::Before,
                (need.value == EngineNeed::Stopped).then_some("stop:engine"),
            )
            .blame(Blamed::Engine, engine.since, label),
    );
}
