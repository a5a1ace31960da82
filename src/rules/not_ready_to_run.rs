//! See [`RULE`].

use super::advice::{actions_of_closing, closing, confirming};
use super::check::On;
use super::context::{Blamed, all_helps, all_of};
use crate::finding::{Findings, Place, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::rehearsal::{EnergyState, Moment, PartPlace, Scene};
use crate::shop::{FluidState, ThingId, ValveState, slug};
use crate::verbs::conditions_needed;
use indexmap::IndexSet;

rule! {
    /// The engine is run before the machine is ready.
    ///
    /// A part is off or loose, an energy source isolated, a condition unconfirmed, a fluid missing, a valve shut, a
    /// control in the wrong position or a part not inspected.
    ///
    /// Under `[run]` on the machine, `needs` names the conditions and `looks` the parts that must have been inspected.
    /// Every part has to be on and every fluid filled, valves that shut a fluid open, and controls where their
    /// `running` says. `may-lack` names the exceptions.
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

/// Why the engine is not ready.
struct Unready<'k> {
    blamed: Blamed<'k>,
    /// The rest of the message: "while `cover` is off".
    when: String,
    since: Option<Moment>,
    label: &'static str,
    help: String,
    /// The steps that may be missing.
    missing: Vec<String>,
    /// Whether they can be well before the engine is run.
    is_undoing: bool,
}

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for list in [parts, energies, conditions, valves, controls, fluids] {
        let mut unready = Vec::new();
        list(scene, &mut unready);
        let Some(first) = unready.first() else {
            continue;
        };
        let when: Vec<&str> = unready.iter().map(|thing| thing.when.as_str()).collect();
        let message = format!("the engine is run {}", all_of(&when));
        let help = all_helps(unready.iter().map(|thing| thing.help.clone()));
        let missing = unready.iter().flat_map(|thing| &thing.missing);
        let missing: IndexSet<String> = missing.cloned().collect();
        let finding = scene.finding(&RULE, message, "run here").help(help);
        let finding = if first.is_undoing {
            finding.propose_undoing(first.since.map(|moment| moment.span), missing)
        } else {
            finding.propose(Place::Before, missing)
        };
        findings.push(unready.iter().fold(finding, |finding, thing| {
            finding.blame(thing.blamed, thing.since, thing.label)
        }));
    }
}

/// Whether the machine may be run although something is the matter with a thing.
fn may_lack(scene: &Scene<'_, '_>, thing: impl Into<ThingId>) -> bool {
    let thing = thing.into();
    let mut may_lack = scene.machine.run.may_lack.iter();
    may_lack.any(|lack| lack.value == thing)
}

fn parts<'a>(scene: &Scene<'_, 'a>, unready: &mut Vec<Unready<'a>>) {
    for (part, state) in scene.before.parts() {
        if state.place == PartPlace::On || may_lack(scene, part.id) {
            continue;
        }
        let (how, label) = match state.place {
            PartPlace::Off => ("off", "removed here"),
            _ => ("loose", "loosened here"),
        };
        unready.push(Unready {
            blamed: Blamed::Part(&part.key),
            when: format!("while `{}` is {how}", part.key),
            since: state.since,
            label,
            help: closing(part, state.place),
            missing: actions_of_closing(scene.before, scene.machine, part),
            is_undoing: true,
        });
    }
    for part in &scene.machine.run.inspect {
        if scene.before.part(part.value).inspected.is_none() {
            let key = &scene.machine.parts[part.value].key;
            unready.push(Unready {
                blamed: Blamed::Inspection(key),
                when: format!("before `{key}` is inspected"),
                since: None,
                label: "",
                help: format!("add `[](inspect:{key})` before this step"),
                missing: vec![format!("inspect:{key}")],
                is_undoing: true,
            });
        }
    }
}

fn energies<'a>(scene: &Scene<'_, 'a>, unready: &mut Vec<Unready<'a>>) {
    let mut parts = scene.before.parts();
    let is_closed =
        parts.all(|(part, state)| state.place == PartPlace::On || may_lack(scene, part.id));
    for (energy, state) in scene.before.energies() {
        if state.now != EnergyState::Live && !energy.is_heat() && !may_lack(scene, energy.id) {
            unready.push(Unready {
                blamed: Blamed::Energy(&energy.key),
                when: format!("while {} is isolated", energy.name),
                since: state.since,
                label: "isolated here",
                help: format!(
                    "add `[](restore:{})` before this step, once the work is done and all parts are back",
                    energy.key
                ),
                // Nobody is told to make an energy live while something is off.
                missing: is_closed
                    .then(|| format!("restore:{}", energy.key))
                    .into_iter()
                    .collect(),
                is_undoing: false,
            });
        }
    }
}

fn conditions<'a>(scene: &Scene<'_, 'a>, unready: &mut Vec<Unready<'a>>) {
    for condition in conditions_needed(scene.machine, scene.action.verb, scene.action.thing) {
        if scene.before.condition(condition.value).is_none() {
            let key = &scene.machine.conditions[condition.value].key;
            unready.push(Unready {
                blamed: Blamed::Condition(key),
                when: scene.unmet(condition.value),
                since: scene
                    .before
                    .condition_lost(condition.value)
                    .map(|lost| lost.at),
                label: "lost here",
                help: confirming(scene, condition.value),
                missing: vec![format!("confirm:{key}")],
                is_undoing: false,
            });
        }
    }
}

/// Valves, as they are after the machine's own instruction for starting, which may open them.
fn valves<'a>(scene: &Scene<'_, 'a>, unready: &mut Vec<Unready<'a>>) {
    for valve in scene.machine.valves.values() {
        let Some(wanted) = valve.running.filter(|_| !may_lack(scene, valve.id)) else {
            continue;
        };
        let before = scene.before.valve(valve.id);
        let mut started = scene.action.inner.iter().rev();
        let started = started.find_map(|action| match (action.verb, action.thing) {
            (Verb::Open, Thing::Valve(other)) if other.id == valve.id => Some(ValveState::Open),
            (Verb::Close, Thing::Valve(other)) if other.id == valve.id => Some(ValveState::Closed),
            _ => None,
        });
        if started.unwrap_or(before.now) == wanted {
            continue;
        }
        let (how, label, verb) = match wanted {
            ValveState::Open => ("closed", "closed here", Verb::Open),
            ValveState::Closed => ("open", "opened here", Verb::Close),
        };
        unready.push(Unready {
            blamed: Blamed::Valve(&valve.key),
            when: format!("while `{}` is {how}", valve.key),
            since: before.since,
            label,
            help: format!("add `[]({}:{})` before this step", verb.word(), valve.key),
            missing: vec![format!("{}:{}", verb.word(), valve.key)],
            is_undoing: false,
        });
    }
}

/// Controls, as they are after the machine's own instruction for starting.
fn controls<'a>(scene: &Scene<'_, 'a>, unready: &mut Vec<Unready<'a>>) {
    for control in scene.machine.controls.values() {
        let Some(wanted) = control.running else {
            continue;
        };
        let before = scene.before.control(control.id);
        let mut started = scene.action.inner.iter().rev();
        let started = started.find_map(|action| match action.thing {
            Thing::Control(other) if other.id == control.id => control.position(action.position?),
            _ => None,
        });
        let now = started.unwrap_or(before.now);
        if now == wanted {
            continue;
        }
        let wanted = slug(control.position_name(wanted));
        unready.push(Unready {
            blamed: Blamed::Control(&control.key),
            when: format!(
                "while `{}` is at `{}`",
                control.key,
                control.position_name(now)
            ),
            since: before.since,
            label: "set here",
            help: format!("add `[](set:{}/{wanted})` before this step", control.key),
            missing: vec![format!("set:{}/{wanted}", control.key)],
            is_undoing: false,
        });
    }
}

fn fluids<'a>(scene: &Scene<'_, 'a>, unready: &mut Vec<Unready<'a>>) {
    for fluid in scene.machine.fluids.values() {
        let state = scene.before.fluid(fluid.id);
        if state.now == FluidState::Full || may_lack(scene, fluid.id) {
            continue;
        }
        let how = if state.since.is_some() {
            "drained"
        } else {
            "empty"
        };
        unready.push(Unready {
            blamed: Blamed::Fluid(&fluid.key),
            when: format!("while `{}` is {how}", fluid.key),
            since: state.since,
            label: "drained here",
            help: format!(
                "add `[](fill:{})` before this step, once its parts are back",
                fluid.key
            ),
            missing: vec![format!("fill:{}", fluid.key)],
            is_undoing: true,
        });
    }
}
