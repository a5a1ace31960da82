//! See [`RULE`].

use crate::dry_run::{EngineState, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::shop::EngineNeed;

rule! {
    /// A reading is taken while the engine stands and has to run for it, or the other way about.
    ///
    /// `engine` on a reading is `"running"` or `"stopped"`.
    ///
    /// ## At the bench
    ///
    /// A speed is written down that nobody has measured.
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
    /// ## Mend
    ///
    /// Measure it while the engine is as it has to be, or correct `engine` on the reading.
    "engine-wrong-for-reading", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let (Verb::Measure, Thing::Reading(reading)) = (scene.act.verb, scene.act.thing) else {
        return;
    };
    let engine = scene.before.engine();
    let (Some(need), how) = (&reading.engine, engine.now) else {
        return;
    };
    let word = match (need.value, how) {
        (EngineNeed::Running, EngineState::Stopped) => "stands",
        (EngineNeed::Stopped, EngineState::Running) => "turns",
        _ => return,
    };
    let message = format!("`{}` is measured while the engine {word}", reading.id);
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "measured here")
        .and(need.span, "how it has to be");
    findings.push(super::since(finding, engine.since, "since here"));
}
