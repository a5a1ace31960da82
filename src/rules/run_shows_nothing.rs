//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::shop::ThingId;

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
    /// ## Fix
    ///
    /// Measure it while it can be, or take it out of `measure` under `[run]`.
    "run-shows-nothing", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    let end = ending.end;
    if !end.account().was_done(Verb::Run, ThingId::Engine) {
        return;
    }
    for reading in &ending.job.machine.run.measure {
        if end.account().was_done(Verb::Measure, reading.value) {
            continue;
        }
        let id = &ending.job.machine.readings[reading.value].key;
        let message = format!("the engine is run and `{id}` is not measured");
        let since = end.engine().since;
        findings.push(
            ending
                .finding(&RULE, message, since, "last run or stopped here")
                .secondary(reading.span, "shows whether the run was right")
                .help(format!("add `[](measure:{id})`")),
        );
    }
}
