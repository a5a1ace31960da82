//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{EngineState, Scene};
use crate::shop::Part;

rule! {
    /// A part is removed, fitted, turned or cleaned while the engine is running.
    ///
    /// ## At the bench
    ///
    /// A moving part catches a sleeve.
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
    /// 1. [](run:engine)
    /// 2. [](clean:cover)
    /// 3. [](stop:engine)
    /// ```
    ///
    /// ## Fix
    ///
    /// Stop the engine, and isolate and prove what can start it.
    "work-while-running", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(
    &[
        Verb::Remove,
        Verb::Fit,
        Verb::Renew,
        Verb::Turn,
        Verb::Clean,
    ],
    check,
)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    // Slackening and tightening are allowed, because a speed is adjusted with the engine running.
    let engine = scene.before.engine();
    if engine.now != EngineState::Running {
        return;
    }
    let message = format!("`{}` is worked on while the engine is running", part.key);
    findings.push(
        scene
            .finding(&RULE, message, "worked on here")
            .help("add `[](stop:engine)` before this step")
            .propose(Place::Before, ["stop:engine"])
            .blame(Blamed::Engine, engine.since, "started here"),
    );
}
