//! What an action needs before it.

use crate::finding::Located;
use crate::model::Thing;
use crate::prose::Verb;
use crate::shop::{ConditionId, FluidId, Machine};

/// The fluid that an action lets out or puts in. Taking off a part that carries a fluid opens the fluid's line.
pub(crate) fn fluid_met(verb: Verb, thing: Thing<'_>) -> Option<FluidId> {
    match (verb, thing) {
        (Verb::Drain | Verb::Fill, Thing::Fluid(fluid)) => Some(fluid.id),
        (Verb::Remove, Thing::Part(part)) => part.carries.as_ref().map(|fluid| fluid.value),
        _ => None,
    }
}

/// The conditions that must hold when an action is done, each with the span of the record that says so.
pub(crate) fn conditions_needed<'a>(
    machine: &'a Machine,
    verb: Verb,
    thing: Thing<'a>,
) -> &'a [Located<ConditionId>] {
    match (verb, thing) {
        (Verb::Measure, Thing::Reading(reading)) => &reading.needs,
        (Verb::Run, Thing::Engine) => &machine.run.needs,
        _ => match fluid_met(verb, thing) {
            Some(fluid) => &machine.fluids[fluid].needs,
            None => &[],
        },
    }
}
