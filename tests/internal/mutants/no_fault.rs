//! Mutants that are no fault: the mutated procedure is as right as the original, by the machine's own file.
//!
//! They are counted apart, by kind, and printed. They are these, and no others:
//!
//! - Two steps are swapped, and no action of one is linked with an action of the other. Two actions are linked if they
//!   act on the same thing, or if the machine's file has any field that makes the order of the two things matter: a part
//!   is behind, held by, sealed by, laid open by, stacked under or kept waiting by the other; a part must be on or off for a reading or locks it; a part or a valve carries, drains or shuts a fluid, or the
//!   fluid is filled through it; a condition is needed by, lost by or confirmed after the other action; an energy endangers
//!   the other thing. A signature (except with a part that is only looked at and that nobody signs for), a control, a run of the engine and a procedure done in full are linked with everything, a turned
//!   part and a fluid with every reading. A tool or a supply is linked with nothing, unless a condition names it: it is
//!   laid ready a step earlier or later.
//!   Two parts or readings that are cleaned, inspected, noted or measured are linked only if they are the same: neither moves.
//!   A part that lies on the bench is cleaned and inspected before or after another part is taken off or put on, unless
//!   that one lays it open.
//! - A tool or a supply is not called for in one step, and is on the kit list of every job all the same, because another
//!   step calls for it, a reading is measured with it, a fluid is filled from it, or the shop says that a fluid is drained
//!   into it.
//! - An action is missing that changes nothing in any job: a valve is closed that the machine's file says is found closed,
//!   or a condition is ended that an earlier action has ended.
//! - A position is not noted that the machine's file gives.

use crate::finding::Located;
use crate::model::{Action, PartPlace, State, Thing};
use crate::prose::Verb;
use crate::shop::{
    Energy, EnergyKind, FluidId, LostBy, Machine, MachineAction, Part, PartId, Reading,
    RunCondition, Shop, Tool,
};
use crate::verbs::Trait;

/// Whether an action is done to a part that lies on the bench.
pub(super) fn is_on_bench(action: &Action<'_>, before: &State<'_>) -> bool {
    let is_look = matches!(action.verb, Verb::Clean | Verb::Inspect);
    matches!(action.thing, Thing::Part(part) if is_look && before.part(part.id).place == PartPlace::Off)
}

/// Whether the order of two actions matters on a machine. `on_bench` says of an action whether [`is_on_bench`] holds in
/// all jobs.
pub(super) fn are_linked(
    machine: &Machine,
    first: &Action<'_>,
    second: &Action<'_>,
    on_bench: impl Fn(&Action<'_>) -> bool,
) -> bool {
    // No source says what a step waits for.
    if [first, second]
        .iter()
        .any(|action| action.verb == Verb::Wait)
    {
        return false;
    }
    // What lies on the bench is reached whatever else is taken off or put on.
    if let (Thing::Part(part), Thing::Part(other)) = (first.thing, second.thing)
        && (on_bench(first) || on_bench(second))
    {
        return part.id == other.id
            || names_one(&part.laid_open_by, other.id)
            || names_one(&other.laid_open_by, part.id);
    }
    let looks = |action: &Action<'_>| {
        let is_look = matches!(
            action.verb,
            Verb::Inspect | Verb::Measure | Verb::Clean | Verb::Note
        );
        is_look && matches!(action.thing, Thing::Part(_) | Thing::Reading(_))
    };
    if looks(first) && looks(second) {
        return first.thing.id() == second.thing.id();
    }
    is_linked_with(machine, first, second) || is_linked_with(machine, second, first)
}

/// Whether the order matters, as far as it follows from the first thing's record.
fn is_linked_with(machine: &Machine, action: &Action<'_>, other: &Action<'_>) -> bool {
    let (Some(id), Some(other_id)) = (action.thing.id(), other.thing.id()) else {
        return true;
    };
    if id == other_id {
        return true;
    }
    match action.thing {
        Thing::Role(_) => match (other.verb, other.thing) {
            (_, Thing::Tool(_) | Thing::Supply(_)) => false,
            (Verb::Clean | Verb::Inspect | Verb::Note, Thing::Part(part)) => {
                part.signed_by.is_some() || part.carries.is_some()
            }
            _ => true,
        },
        Thing::Engine | Thing::Control(_) => {
            !matches!(other.thing, Thing::Tool(_) | Thing::Supply(_))
        }
        Thing::Tool(_) | Thing::Supply(_) => machine
            .conditions
            .values()
            .any(|condition| is_named_by(condition, action)),
        Thing::Condition(condition) => {
            is_named_by(condition, other) || is_needed_by(machine, condition, other)
        }
        Thing::Energy(energy) => can_hurt(energy, other),
        Thing::Part(part) => match other.thing {
            Thing::Part(other) => names_part(part, other.id),
            Thing::Fluid(fluid) => {
                let through = fluid.through.as_ref();
                holds(part, fluid.id) || through.is_some_and(|through| through.value == part.id)
            }
            Thing::Reading(reading) => action.verb == Verb::Turn || names(reading, part.id),
            _ => false,
        },
        Thing::Valve(valve) => match (other.thing, &valve.shuts) {
            (Thing::Reading(_), _) => true,
            (Thing::Fluid(fluid), Some(shut)) => shut.value == fluid.id,
            (Thing::Part(part), Some(shut)) => holds(part, shut.value),
            _ => false,
        },
        Thing::Fluid(_) => matches!(other.thing, Thing::Reading(_)),
        Thing::Reading(reading) => match other.thing {
            Thing::Reading(other_reading) if action.verb != other.verb => {
                let mut locks = reading.locked_by.iter();
                locks.any(|lock| names(other_reading, lock.value))
            }
            _ => false,
        },
        // Nothing changes while a step waits.
        Thing::Time(_) => false,
        Thing::Procedure(_) | Thing::Caution(_) | Thing::Place => true,
    }
}

/// Whether a condition is lost by an action, or confirmed after it.
fn is_named_by(condition: &RunCondition, action: &Action<'_>) -> bool {
    let is_action = |named: MachineAction| Some(named.thing) == action.thing.id();
    let mut lost_by = condition.lost_by.iter();
    let mut after = condition.after.iter();
    lost_by.any(|by| match by.value {
        LostBy::Work => action.verb.spec().has(Trait::TakesTools),
        LostBy::Action(named) => is_action(named),
    }) || after.any(|named| is_action(named.value))
}

/// Whether an action needs a condition.
fn is_needed_by(machine: &Machine, condition: &RunCondition, action: &Action<'_>) -> bool {
    let needs = match action.thing {
        Thing::Reading(reading) => &reading.needs,
        Thing::Fluid(fluid) => &fluid.needs,
        Thing::Part(Part {
            carries: Some(fluid),
            ..
        }) => &machine.fluids[fluid.value].needs,
        _ => return false,
    };
    needs.iter().any(|need| need.value == condition.id)
}

/// Whether an energy endangers whoever does an action.
fn can_hurt(energy: &Energy, action: &Action<'_>) -> bool {
    let is_general = matches!(
        energy.kind,
        Some(EnergyKind::Ignition | EnergyKind::Electrical | EnergyKind::Motion)
    );
    if let Thing::Energy(other) = action.thing {
        let by_hand = !matches!(other.kind, Some(EnergyKind::Electrical | EnergyKind::Heat));
        return energy.kind == Some(EnergyKind::Ignition) && by_hand;
    }
    match (&energy.endangers, action.thing.id()) {
        (Some(named), Some(thing)) => named.contains(&thing),
        _ => is_general && matches!(action.thing, Thing::Part(_) | Thing::Reading(_)),
    }
}

fn holds(part: &Part, fluid: FluidId) -> bool {
    let mut fluids = [&part.carries, &part.drains].into_iter().flatten();
    fluids.any(|held| held.value == fluid)
}

fn names(reading: &Reading, part: PartId) -> bool {
    let lists = [&reading.with, &reading.without, &reading.locked_by];
    lists.into_iter().flatten().any(|named| named.value == part)
}

/// Whether the record of a part names another one. Only neighbours are swapped, so that a part between the two, which
/// both records name, is not between their steps.
fn names_part(part: &Part, other: PartId) -> bool {
    let lists = [
        &part.behind,
        &part.held_by,
        &part.seals,
        &part.laid_open_by,
        &part.stack,
        &part.off_first,
    ];
    lists.into_iter().any(|list| names_one(list, other))
}

fn names_one(list: &[Located<PartId>], other: PartId) -> bool {
    list.iter().any(|named| named.value == other)
}

/// Whether an action changes nothing: a valve is in that state already, a condition does not hold, a position is noted
/// that the machine's file gives, or a step only waits.
pub(super) fn is_idle(action: &Action<'_>, before: &State<'_>) -> bool {
    match (action.verb, action.thing) {
        (Verb::Open | Verb::Close, Thing::Valve(valve)) => {
            let mut after = before.clone();
            let now = before.valve(valve.id).now;
            let moment = crate::model::Moment {
                index: 0,
                step: 0,
                span: action.span,
            };
            crate::verbs::apply(&mut after, action, moment);
            after.valve(valve.id).now == now
        }
        (Verb::End, Thing::Condition(condition)) => before.condition(condition.id).is_none(),
        (Verb::Note, Thing::Part(part)) => part.position.is_some(),
        (Verb::Wait, _) => true,
        _ => false,
    }
}

/// Something on a kit list: a tool or a supply, or a wrench size.
pub(super) type KitItem = String;

/// What an action puts on the kit list.
pub(super) fn kit_of(shop: &Shop, action: &Action<'_>) -> Option<Vec<KitItem>> {
    let tool = |tool: &Tool| {
        let size = tool.size.as_ref().map(|size| size_of(&size.value.text()));
        let key = format!("tool {}", tool.key);
        size.into_iter().chain([key]).collect()
    };
    match (action.verb, action.thing) {
        (_, Thing::Tool(used)) => Some(tool(used)),
        (_, Thing::Supply(supply)) => Some(vec![format!("supply {}", supply.key)]),
        (Verb::Measure | Verb::Adjust, Thing::Reading(reading)) => {
            Some(tool(shop.tool_of(reading)?))
        }
        (Verb::Fill | Verb::Drain, Thing::Fluid(fluid)) => {
            let supply = &shop.supplies[fluid.supply.as_ref()?.value];
            let supply = (action.verb == Verb::Fill).then(|| format!("supply {}", supply.key));
            // The container that the shop says is printed and laid ready, whether the step names it or not.
            let container = shop.container_for(action.verb, fluid);
            let container: Vec<KitItem> = container.map(tool).unwrap_or_default();
            Some(supply.into_iter().chain(container).collect())
        }
        // The kit list prints the size of the wrench that each fastener takes.
        (verb, Thing::Part(part)) if verb.spec().has(Trait::TakesTools) => {
            Some(vec![size_of(&part.hex_size()?.text())])
        }
        _ => None,
    }
}

fn size_of(size: &str) -> KitItem {
    format!("size {size}")
}
