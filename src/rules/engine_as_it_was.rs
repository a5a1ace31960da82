//! See [`RULE`].

use crate::dry_run::{EngineState, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::prose::Verb;

rule! {
    /// The engine is started while it turns, or stopped while it stands.
    ///
    /// ## At the bench
    ///
    /// A step that can't be done; perhaps the run itself is missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [engine]
    /// kind = "4-stroke"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](stop:engine)
    /// ```
    ///
    /// ## Mend
    ///
    /// Say where it is started, or take this step out.
    "engine-as-it-was", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let engine = scene.before.engine();
    let message = match (scene.act.verb, engine.now) {
        (Verb::Run, EngineState::Running) => "the engine is started while it turns",
        (Verb::Stop, EngineState::Stopped) => "the engine is stopped while it stands",
        _ => return,
    };
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "");
    findings.push(super::since(finding, engine.since, "since here"));
}
