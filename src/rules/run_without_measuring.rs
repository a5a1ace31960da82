//! See [`RULE`].

use super::advice::measuring;
use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::shop::ThingId;

rule! {
    /// The engine is run, but a reading that the run must give is not measured.
    ///
    /// `measure` under `[run]` names the readings.
    ///
    /// ## At the bench
    ///
    /// The engine ran, but the sheet does not show at what speed.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.speed]
    /// name = "speed"
    /// limits = "3000 rpm ± 100 rpm"
    /// engine = "running"
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
    /// Measure the reading during the run, with the engine in the state that the reading needs.
    "run-without-measuring", Rehearsal, Warning => pub(super) RULE
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
        let message = format!("the engine is run, but `{id}` is not measured");
        let since = end.engine().since;
        findings.push(
            ending
                .finding(&RULE, message, since, "last run or stopped here")
                .secondary(reading.span, "required reading")
                .help(measuring(ending.job.machine, reading.value, ""))
                .propose(Place::Early, [format!("measure:{id}")])
                .propose(Place::Before, [format!("measure:{id}")]),
        );
    }
}
