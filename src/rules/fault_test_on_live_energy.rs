//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::job::{Job, Thing};
use crate::prose::Verb;
use crate::shop::EnergyId;
use crate::verbs::is_named;

rule! {
    /// A test in a fault table puts hands on what an energy source endangers, and the source is not isolated.
    ///
    /// The rule looks at energy sources with `endangers`. The table has to isolate such a source in the same cause or
    /// in an earlier one. What a run of the engine has heated has to cool again.
    ///
    /// ## At the bench
    ///
    /// The pump gives no water, and the mechanic opens its priming plug. The water behind the plug has boiled.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plug]
    /// name = "plug"
    /// reuse = "Ring soft"
    /// [energy.pump-heat]
    /// name = "heat of the pump"
    /// kind = "heat"
    /// endangers = ["plug"]
    /// isolate = "Wait until the pump is cold"
    /// prove = "Touch the pump: it is cold"
    /// === faults/dry.md
    /// +++
    /// title = "Gives no water"
    /// machines = ["hand-pump"]
    /// +++
    /// The lever moves, and no water comes.
    ///
    /// ## All of it
    ///
    /// 1. The pump is empty.
    ///    - [Unscrew the plug](inspect:plug) and look.
    ///    - Fill it.
    /// ```
    ///
    /// ## Fix
    ///
    /// Isolate the energy source in the test, or name it in `may-be-live` if the test is safe while it is live.
    "fault-test-on-live-energy", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fault(check)];

fn check(fault: &Job<'_>, findings: &mut Findings) {
    let energies = fault.machine.energies.values();
    let mut isolated: Vec<EnergyId> = Vec::new();
    for action in fault.steps().flat_map(|step| step.all_actions()) {
        match (action.verb, action.thing) {
            (Verb::Isolate, Thing::Energy(energy)) => isolated.push(energy.id),
            (Verb::Restore, Thing::Energy(energy)) => isolated.retain(|id| *id != energy.id),
            (Verb::Run, _) => isolated.retain(|id| !fault.machine.energies[*id].is_heat()),
            _ => {}
        }
        let mut dangers = energies
            .clone()
            .filter(|energy| is_named(energy, action) && !isolated.contains(&energy.id));
        let Some(energy) = dangers.next() else {
            continue;
        };
        let message = format!(
            "the test on `{}` is done while `{}` is live",
            action.thing.key(),
            energy.key
        );
        findings.push(
            Finding::new(&RULE, message)
                .in_job(fault.name().to_string())
                .primary(action.span, "tested here")
                .secondary(energy.span, "this energy source")
                .help(format!(
                    "add `[](isolate:{0})` and `[](prove:{0})` before this test",
                    energy.key
                )),
        );
    }
}
