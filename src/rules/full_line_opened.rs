//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::{FluidState, Part, ValveState};

rule! {
    /// A part that carries a fluid is opened while the fluid is in it and its valve is open.
    ///
    /// ## At the bench
    ///
    /// Petrol runs over the bench.
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
    /// 1. [](remove:hose)
    /// 2. [](fit:hose)
    /// ```
    ///
    /// ## Fix
    ///
    /// Close the valve first and open it when the part is back, or drain the fluid first.
    "full-line-opened", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Remove], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let Some(carries) = &part.carries else {
        return;
    };
    let is_full = scene.before.fluid(carries.value).now == FluidState::Full;
    if !is_full || scene.before.part(part.id).place == PartPlace::Off {
        return;
    }
    let states: Vec<_> = scene
        .machine
        .valves_of(carries.value)
        .map(|valve| (valve, scene.before.valve(valve.id)))
        .collect();
    if states
        .iter()
        .any(|(_, state)| state.now == ValveState::Closed)
    {
        return;
    }
    let fluid = &scene.machine.fluids[carries.value].key;
    let message = format!("`{}` is opened while `{fluid}` is in it", part.key);
    let mut finding = scene
        .finding(&RULE, message, "opened here")
        .secondary(carries.span, "carries this fluid");
    if let Some((valve, state)) = states.first() {
        finding = finding.help(format!(
            "add `[](close:{0})` before this step and `[](open:{0})` once `{1}` is back, or drain `{fluid}` first",
            valve.key, part.key
        ));
        finding = finding.propose(Place::Before, [format!("close:{}", valve.key)]);
        finding = finding.blame(Blamed::Valve(&valve.key), state.since, "valve opened here");
    } else {
        finding = finding.help(format!(
            "add `[](drain:{fluid})` before this step, and `[](fill:{fluid})` once `{}` is back",
            part.key
        ));
    }
    findings.push(finding);
}
