//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{EngineState, Scene};

rule! {
    /// The engine is started while it is running, or stopped while it is not.
    ///
    /// ## At the bench
    ///
    /// The step can't be done. Perhaps the step that starts or stops the engine before it is missing.
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
    /// ## Fix
    ///
    /// Write the missing action in the step that starts or stops the engine. An engine that runs on is started
    /// once.
    "engine-action-without-effect", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[
    On::Action(&[Verb::Run], check_run),
    On::Action(&[Verb::Stop], check_stop),
];

fn check_run(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let message = "the engine is started but is already running";
    let help = "add `[](stop:engine)` where it is stopped in between, or delete this step if it runs on from there";
    check(scene, EngineState::Running, message, help, findings);
}

fn check_stop(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let message = "the engine is stopped but is not running";
    let help = "write `[](run:engine)` in the step that starts it; if no step does, write as text what is checked here";
    check(scene, EngineState::Stopped, message, help, findings);
}

fn check(
    scene: &Scene<'_, '_>,
    already: EngineState,
    message: &str,
    help: &str,
    findings: &mut Findings,
) {
    let label = match already {
        EngineState::Running => "started here",
        EngineState::Stopped => "stopped here",
    };
    let engine = scene.before.engine();
    if engine.now == already {
        let finding = scene.finding(&RULE, message, "").help(help);
        findings.push(finding.blame(Blamed::Engine, engine.since, label));
    }
}
