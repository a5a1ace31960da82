//! See [`RULE`].

use super::{Ending, On};
use crate::dry_run::{EnergyState, EngineState, FluidLevel};
use crate::finding::{Findings, rule};
use crate::shop::{FluidState, ValveState};

rule! {
    /// A valve, a fluid, an energy or the engine is not left as it was found at the end of the job.
    ///
    /// ## At the bench
    ///
    /// The customer finds a closed tap, an empty tank or a plug cap hanging loose.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// [valve.cock]
    /// name = "cock"
    /// shuts = "water"
    /// [part.hose]
    /// name = "hose"
    /// carries = "water"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](close:cock)
    /// 2. [](inspect:hose)
    /// ```
    ///
    /// ## Mend
    ///
    /// Put it back, or say under `[leaves]` why it stays: `cock = "shut until the season"`.
    "left-not-as-found", DryRun, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    let (machine, end) = (ending.job.machine, ending.end);
    let mut reports = Vec::new();
    for valve in machine.valves.values() {
        if let Some(state) = end
            .valve(&valve.id)
            .filter(|state| state.now != valve.found)
        {
            let (how, verb) = match state.now {
                ValveState::Closed => ("closed", "open"),
                ValveState::Open => ("open", "close"),
            };
            reports.push((&valve.id, format!("is left {how}"), state.since, verb));
        }
    }
    for fluid in machine.fluids.values() {
        let state = end.fluid(&fluid.id);
        let is_drained = state.is_some_and(|state| state.now == FluidLevel::Empty);
        if fluid.found == FluidState::Full && is_drained {
            let since = state.and_then(|state| state.since);
            reports.push((
                &fluid.id,
                "is drained and not filled".to_owned(),
                since,
                "fill",
            ));
        }
        let is_filled = state.is_some_and(|state| state.now == FluidLevel::Full);
        if fluid.found == FluidState::Empty && is_filled {
            let since = state.and_then(|state| state.since);
            let how = "is filled and not let out".to_owned();
            reports.push((&fluid.id, how, since, "drain"));
        }
    }
    for energy in machine.energies.values() {
        let state = end.energy(&energy.id);
        if let Some(state) = state.filter(|state| state.now != EnergyState::Live) {
            reports.push((
                &energy.id,
                "is still isolated".to_owned(),
                state.since,
                "restore",
            ));
        }
    }
    for (id, what, since, verb) in reports {
        if ending.is_left(id) {
            continue;
        }
        let message = format!("`{id}` {what} at the end");
        findings.push(
            ending
                .finding(&RULE, message, since, "since here")
                .help(format!(
                    "add `[]({verb}:{id})` where it belongs, or say under `[leaves]` why it stays"
                )),
        );
    }
    let engine = end.engine();
    if engine.now == EngineState::Running {
        let message = "the engine still turns at the end";
        findings.push(
            ending
                .finding(&RULE, message, engine.since, "started here")
                .help("add `[](stop:engine)`"),
        );
    }
}
