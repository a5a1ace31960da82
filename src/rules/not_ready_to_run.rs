//! See [`RULE`].

use super::advice::{closing, confirming};
use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{EnergyState, PartPlace, Scene};
use crate::shop::FluidState;

rule! {
    /// The engine is run before the machine is ready: a part is off or loose, an energy source isolated, a condition unconfirmed, a fluid drained or a part not inspected.
    ///
    /// Under `[run]` on the machine, `needs` names the conditions, `may-lack` the parts that may be
    /// off, and `looks` the parts that must have been inspected.
    ///
    /// ## At the bench
    ///
    /// A pump that is run dry is scored in seconds. An engine that is run without its air cleaner takes
    /// in grit.
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
    /// 1. [](remove:cover-nut)
    /// 2. [](run:engine)
    /// 3. [](stop:engine)
    /// 4. [](fit:cover-nut)
    /// 5. [](tighten:cover-nut)
    /// ```
    ///
    /// ## Fix
    ///
    /// Make the machine ready before the engine is run.
    "not-ready-to-run", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Action(&[Verb::Run], check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let machine = scene.machine;
    let mut reports = Vec::new();
    for (part, state) in scene.before.parts() {
        let id = &part.key;
        let is_optional = machine
            .run
            .optional_parts
            .iter()
            .any(|lack| lack.value == part.id);
        if state.place != PartPlace::On && !is_optional {
            let (how, label) = match state.place {
                PartPlace::Off => ("off", "removed here"),
                _ => ("loose", "loosened here"),
            };
            let help = closing(part, state.place);
            reports.push((format!("while `{id}` is {how}"), state.since, label, help));
        }
    }
    for (energy, state) in scene.before.energies() {
        if state.now != EnergyState::Live && !energy.is_heat() {
            reports.push((
                format!("while {} is isolated", energy.name),
                state.since,
                "isolated here",
                format!(
                    "add `[](restore:{})` before this step, once the work is done and all parts are back",
                    energy.key
                ),
            ));
        }
    }
    for condition in &machine.run.needs {
        if scene.before.condition(condition.value).is_none() {
            let key = &machine.conditions[condition.value].key;
            let help = confirming(scene, condition.value);
            reports.push((format!("before `{key}` is confirmed"), None, "", help));
        }
    }
    for part in &machine.run.inspect {
        if scene.before.part(part.value).inspected.is_none() {
            let key = &machine.parts[part.value].key;
            let help = format!("add `[](inspect:{key})` before this step");
            reports.push((format!("before `{key}` is inspected"), None, "", help));
        }
    }
    for fluid in machine.fluids.values() {
        let state = scene.before.fluid(fluid.id);
        // A fluid that was found empty was not drained by this job.
        if state.now == FluidState::Empty && state.since.is_some() {
            reports.push((
                format!("while `{}` is drained", fluid.key),
                state.since,
                "drained here",
                format!(
                    "add `[](fill:{})` before this step, once its parts are back",
                    fluid.key
                ),
            ));
        }
    }
    for (when, since, label, help) in reports {
        let message = format!("the engine is run {when}");
        findings.push(
            scene
                .finding(&RULE, message, "run here")
                .help(help)
                .since(since, label),
        );
    }
}
