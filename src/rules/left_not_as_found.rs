//! See [`RULE`].

use super::check::On;
use super::context::{Blamed, Ending};
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::{EnergyState, EngineState, PartPlace};
use crate::shop::{FluidState, ValveState, slug};

rule! {
    /// A valve, control, fluid or energy source is not left as it was found, or the engine is left running.
    ///
    /// ## At the bench
    ///
    /// The customer finds a closed tap, an empty tank or a plug cap that hangs loose.
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
    /// ## Fix
    ///
    /// Restore it, or give the reason under `[left-undone]`: `cock = "shut until the season"`.
    "left-not-as-found", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check), On::Stop(check_engine)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    check_controls(ending, findings);
    let (machine, end) = (ending.job.machine, ending.end);
    let mut reports = Vec::new();
    let is_closed = end
        .parts()
        .all(|(part, state)| state.place == PartPlace::On || ending.job.is_left(part.id));
    for valve in machine.valves.values() {
        let state = end.valve(valve.id);
        if state.now == valve.initial || ending.job.is_left(valve.id) {
            continue;
        }
        let (how, label, verb) = match state.now {
            ValveState::Closed => ("is still closed", "closed here", "open"),
            ValveState::Open => ("is still open", "opened here", "close"),
        };
        reports.push((
            Blamed::Valve(&valve.key),
            &valve.key,
            how,
            state.since,
            label,
            verb,
        ));
    }
    for fluid in machine.fluids.values() {
        let state = end.fluid(fluid.id);
        let (how, label, verb) = match (fluid.initial, state.now) {
            (FluidState::Full, FluidState::Empty) => ("is still drained", "drained here", "fill"),
            (FluidState::Empty, FluidState::Full) => ("is still full", "filled here", "drain"),
            _ => continue,
        };
        if !ending.job.is_left(fluid.id) {
            reports.push((
                Blamed::Fluid(&fluid.key),
                &fluid.key,
                how,
                state.since,
                label,
                verb,
            ));
        }
    }
    for (energy, state) in end.energies() {
        let is_isolated = state.now != EnergyState::Live && !energy.is_heat();
        if is_isolated && !ending.job.is_left(energy.id) {
            let how = "is still isolated";
            reports.push((
                Blamed::Energy(&energy.key),
                &energy.key,
                how,
                state.since,
                "isolated here",
                "restore",
            ));
        }
    }
    for (blamed, id, how, since, label, verb) in reports {
        let message = format!("`{id}` {how} when the job ends");
        let when = match verb {
            "restore" => "once the work is done and all parts are back",
            _ => "once the parts that it flows through are back",
        };
        let finding = ending.finding(&RULE, message, since, label).because_of(blamed, since).help(format!(
            "add `[]({verb}:{id})` {when}; if it is left so on purpose, give the reason under `[left-undone]`"
        ));
        // Nobody is told to make an energy live while something is off.
        let is_safe = verb != "restore" || is_closed;
        let action = is_safe.then(|| format!("{verb}:{id}"));
        findings.push(finding.propose(Place::Late, action));
    }
}

fn check_engine(ending: &Ending<'_, '_>, findings: &mut Findings) {
    let engine = ending.end.engine();
    if engine.now == EngineState::Running {
        let message = "the engine is still running when the job ends";
        findings.push(
            ending
                .finding(&RULE, message, engine.since, "started here")
                .because_of(Blamed::Engine, engine.since)
                .help("add `[](stop:engine)`")
                .propose(Place::Late, ["stop:engine"]),
        );
    }
}

fn check_controls(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for control in ending.job.machine.controls.values() {
        let state = ending.end.control(control.id);
        if state.now == control.initial || ending.job.is_left(control.id) {
            continue;
        }
        let message = format!(
            "`{}` is still at `{}` when the job ends",
            control.key,
            control.position_name(state.now)
        );
        let found = slug(control.position_name(control.initial));
        let help = format!(
            "add `[](set:{0}/{found})` once the work is done; if it is left so on purpose, give the reason under \
             `[left-undone]`",
            control.key
        );
        findings.push(
            ending
                .finding(&RULE, message, state.since, "set here")
                .because_of(Blamed::Control(&control.key), state.since)
                .help(help)
                .propose(Place::Late, [format!("set:{}/{found}", control.key)]),
        );
    }
}
