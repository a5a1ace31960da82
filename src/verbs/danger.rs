//! Whether a source of energy can hurt whoever does an action.

use super::Trait;
use crate::finding::Located;
use crate::model::{Action, EngineState, PartPlace, State, Thing};
use crate::prose::Verb;
use crate::shop::{Energy, EnergyId, EnergyKind, EngineNeed, Reading, ThingId};

/// Whether an energy, while it is live, endangers whoever does the action. `before` is the state before the action.
///
/// It is dangerous to put hands on what the energy's `endangers` names. Without the field, ignition, electrical
/// energy and motion endanger whoever puts hands on any part, also to look at it, to clean it or to measure. 29 CFR
/// 1910.147(b) (its definition of servicing, from memory) counts inspecting, adjusting and cleaning as work that
/// needs isolation.
pub(crate) fn endangers(energy: &Energy, action: &Action<'_>, before: &State<'_>) -> bool {
    if energy.endangers.is_some() {
        return is_named(energy, action);
    }
    if !action.verb.spec().has(Trait::PutsHandsIn) || may_be_live(action, energy.id) {
        return false;
    }
    let is_general = matches!(
        energy.kind,
        Some(EnergyKind::Ignition | EnergyKind::Electrical | EnergyKind::Motion)
    );
    is_general && is_at_machine(action, before)
}

/// Whether an energy's `endangers` names what an action puts hands on.
pub(crate) fn is_named(energy: &Energy, action: &Action<'_>) -> bool {
    let (Some(named), Some(thing)) = (&energy.endangers, action.thing.id()) else {
        return false;
    };
    // Whoever measures a dimension handles the part.
    let thing = match action.thing {
        Thing::Reading(Reading {
            dimension: Some(of),
            ..
        }) => ThingId::Part(of.part),
        _ => thing,
    };
    // Isolating the energy itself has to be possible while it is live.
    action.verb.spec().has(Trait::PutsHandsIn)
        && !may_be_live(action, energy.id)
        && thing != ThingId::Energy(energy.id)
        && named.contains(&thing)
}

/// Whether the thing that acts or is looked at says that this energy may be live.
fn may_be_live(action: &Action<'_>, energy: EnergyId) -> bool {
    let listed: &[Located<EnergyId>] = match (action.verb, action.thing) {
        (Verb::Inspect | Verb::Note, Thing::Part(part)) => &part.may_be_live,
        (Verb::Measure, Thing::Reading(reading)) => &reading.may_be_live,
        _ => &[],
    };
    listed.iter().any(|listed| listed.value == energy)
}

/// Whether the action is done at the machine, and could also be done with the machine made safe.
fn is_at_machine(action: &Action<'_>, before: &State<'_>) -> bool {
    match action.thing {
        Thing::Part(part) => {
            // A part that is off lies on the bench.
            let is_on_bench = before.part(part.id).place == PartPlace::Off
                && matches!(action.verb, Verb::Clean | Verb::Inspect | Verb::Note);
            // A locknut is slackened while the engine runs at the speed that it locks.
            let locks_running = matches!(action.verb, Verb::Slacken | Verb::Tighten)
                && before.engine().now == EngineState::Running
                && before
                    .machine()
                    .readings
                    .values()
                    .any(|reading| reading.locked_by.iter().any(|lock| lock.value == part.id));
            !is_on_bench && !locks_running
        }
        Thing::Reading(reading) => {
            // A part whose dimension is measured may lie on the bench as well.
            let is_on_bench = reading
                .dimension
                .as_ref()
                .is_some_and(|of| before.part(of.part).place == PartPlace::Off);
            // An engine that has to run can't be isolated.
            let engine = reading.engine.as_ref().map(|engine| engine.value);
            engine != Some(EngineNeed::Running) && !is_on_bench
        }
        _ => false,
    }
}

/// Whether an ignition, while it is live, endangers whoever isolates or restores another energy.
pub(crate) fn endangers_hands_at(ignition: &Energy, handled: &Energy) -> bool {
    let named = ignition.endangers.as_ref();
    ignition.kind == Some(EnergyKind::Ignition)
        && is_done_by_hand(handled)
        && named.is_none_or(|named| named.contains(&handled.id.into()))
}

/// Whether an energy is isolated and restored with hands at moving parts. An electrical supply is switched off away
/// from them, and heat is waited for.
pub(crate) fn is_done_by_hand(energy: &Energy) -> bool {
    matches!(
        energy.kind,
        Some(EnergyKind::Motion | EnergyKind::Spring | EnergyKind::Pressure | EnergyKind::Gravity)
    )
}
