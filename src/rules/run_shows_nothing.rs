//! See [`RULE`].

use crate::dry_run::State;
use crate::finding::{Finding, Findings, rule};
use crate::job::Job;
use crate::prose::Verb;

rule! {
    /// The engine is run, and a reading without which the run has shown nothing is not taken.
    ///
    /// `measure` under `[run]` names the readings.
    ///
    /// ## At the bench
    ///
    /// It ran. Nobody knows how fast.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.speed]
    /// name = "speed"
    /// limits = "3000 rpm ± 100 rpm"
    /// [engine]
    /// kind = "4-stroke"
    /// [run]
    /// measure = ["speed"]
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
    /// 2. [](stop:engine)
    /// ```
    ///
    /// ## Mend
    ///
    /// Measure it while it can be, or take it out of `measure` under `[run]`.
    "run-shows-nothing", DryRun, Warning => pub(super) RULE
}

pub(super) fn check(job: &Job<'_>, end: &State<'_>, findings: &mut Findings) {
    if !end.account().was_done(Verb::Run, "engine") {
        return;
    }
    for reading in &job.machine.run.measure {
        if end.account().was_done(Verb::Measure, &reading.value) {
            continue;
        }
        let id = &reading.value;
        let message = format!("the engine is run and `{id}` is not measured");
        let finding = Finding::new(&RULE, message)
            .in_job(job.name().to_string())
            .help(format!("add `[](measure:{id})`"));
        let finding = super::at(finding, end.engine().since, "last run or stopped here");
        findings.push(finding.and(reading.span, "shows whether the run was right"));
    }
}
