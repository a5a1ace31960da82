//! Applies an action to the model of its machine.

use super::{ActionClass, Effect, PartAction, Trait, VerbSpec};
use crate::model::{Action, EngineState, Moment, PartPlace, ReadingState, State, Thing};
use crate::prose::Verb;
use crate::shop::RoleId;

/// Applies an action to the state of a machine. `at` is its position in the job.
pub(crate) fn apply<'a>(state: &mut State<'a>, action: &Action<'a>, at: Moment) {
    let spec = action.verb.spec();
    state.end_conditions(action, spec.has(Trait::TakesTools), at);
    record(state, action, spec, at);
    state.invalidate_readings_changed_by(action, at);
    match (spec.effect, action.thing) {
        (Effect::Part(change), Thing::Part(part)) => {
            if spec.has(Trait::MovesLockedSetting) {
                state.invalidate_readings_locked_by(part, at);
            }
            let on_part = PartAction {
                verb: action.verb,
                part,
                stage: action.stage,
                shows_leak: state.shows_leak(part),
                moment: at,
            };
            change(state.part_mut(part.id), &on_part);
        }
        (Effect::Valve(now), Thing::Valve(valve)) => state.set_valve(valve.id, now, at),
        (Effect::Control, Thing::Control(control)) => {
            if let Some(now) = action.position.and_then(|name| control.position(name)) {
                state.set_control(control.id, now, at);
            }
        }
        (Effect::Fluid(now), Thing::Fluid(fluid)) => state.set_fluid(fluid.id, now, at),
        (Effect::Energy(next), Thing::Energy(energy)) => {
            // Nothing cools while the engine runs.
            let is_heated = energy.is_heat() && state.engine().now == EngineState::Running;
            if let Some(now) = next(state.energy(energy.id).now).filter(|_| !is_heated) {
                state.set_energy(energy.id, now, at);
            }
        }
        (Effect::Condition(holds), Thing::Condition(condition)) => {
            state.set_condition(condition.id, holds.then_some(at));
        }
        (Effect::Engine(now), Thing::Engine) => state.set_engine(now, at),
        (Effect::Reading(now), Thing::Reading(reading)) => {
            state.set_reading(reading.id, now, at);
            if let Some(of) = &reading.dimension {
                state.inspect_by_measuring(&state.machine().parts[of.part], at);
            }
        }
        _ => {}
    }
}

/// Records an action in the account of the job.
fn record(state: &mut State<'_>, action: &Action<'_>, spec: &VerbSpec, at: Moment) {
    // A part that is on can't be fitted again, so that nothing has to be signed for.
    let is_impossible = matches!(
        (action.verb, action.thing),
        (Verb::Fit, Thing::Part(part)) if state.part(part.id).place != PartPlace::Off
    );
    let signer = signer(state, action, spec).filter(|_| !is_impossible);
    let account = state.account_mut();
    account.count_action();
    let Some(thing) = action.thing.id() else {
        return;
    };
    if !account.mark_done(action.verb, spec.inverse, thing) {
        return;
    }
    if matches!(spec.class, ActionClass::Work | ActionClass::Wait) {
        account.forget_fresh_readings();
    }
    match (spec.effect, action.thing) {
        (Effect::Reading(ReadingState::Measured), Thing::Reading(reading)) => {
            account.mark_fresh(reading.id, at);
        }
        (Effect::Engine(EngineState::Running), _) => account.forget_unsigned_but_engine(),
        (_, Thing::Role(role)) => account.mark_signed(role.id),
        _ => {}
    }
    if let Some(role) = signer {
        account.mark_unsigned(role, thing, at);
    }
}

/// The role that has to sign after an action, if its thing names one.
fn signer(state: &State<'_>, action: &Action<'_>, spec: &VerbSpec) -> Option<RoleId> {
    let machine = state.machine();
    let role = match action.thing {
        // The joint of a part that carries a fluid is signed for after its inspection for leaks.
        Thing::Part(part) if action.verb == Verb::Inspect => {
            let is_check_due = state.part(part.id).leak_check_due.is_some();
            let carried = part.carries.as_ref().filter(|_| is_check_due)?;
            machine.fluids[carried.value].signed_by.as_ref()
        }
        _ if !spec.has(Trait::SignedFor) => None,
        Thing::Part(part) => part.signed_by.as_ref(),
        Thing::Fluid(fluid) => fluid.signed_by.as_ref(),
        Thing::Reading(reading) => reading.signed_by.as_ref(),
        Thing::Engine => machine.run.signed_by.as_ref(),
        _ => None,
    };
    role.map(|role| role.value)
}
