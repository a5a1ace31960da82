//! See [`RULE`].

use crate::dry_run::{EngineState, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part comes off, goes on or is cleaned while the engine turns.
    ///
    /// ## At the bench
    ///
    /// A sleeve is caught.
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
    /// ## Mend
    ///
    /// Stop the engine, and isolate and prove what can start it.
    "work-while-running", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    // A locknut is slackened and tightened with the engine running: that is how a speed is set.
    let is_work = matches!(
        scene.act.verb,
        Verb::Remove | Verb::Fit | Verb::Renew | Verb::Clean
    );
    let engine = scene.before.engine();
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    if !is_work || engine.now != EngineState::Running {
        return;
    }
    let message = format!("`{}` is worked on while the engine turns", part.id);
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "worked on here")
        .help("add `[](stop:engine)` before it");
    findings.push(super::since(finding, engine.since, "started here"));
}
