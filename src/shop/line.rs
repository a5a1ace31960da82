//! The line of a fluid: the parts and valves of a machine whose records name it.

use super::{FluidId, Machine, Part, Valve};

impl Machine {
    /// The parts that carry a fluid. Taking one off opens its line.
    pub(crate) fn carriers(&self, fluid: FluidId) -> impl Iterator<Item = &Part> {
        self.parts.values().filter(move |part| {
            let carries = part.carries.as_ref();
            carries.is_some_and(|carries| carries.value == fluid)
        })
    }

    /// The parts that let a fluid out when they are off.
    pub(crate) fn drain_plugs(&self, fluid: FluidId) -> impl Iterator<Item = &Part> {
        self.parts.values().filter(move |part| {
            let drains = part.drains.as_ref();
            drains.is_some_and(|drains| drains.value == fluid)
        })
    }

    /// The valves that shut a fluid off.
    pub(crate) fn valves_of(&self, fluid: FluidId) -> impl Iterator<Item = &Valve> {
        self.valves.values().filter(move |valve| {
            let shuts = valve.shuts.as_ref();
            shuts.is_some_and(|shuts| shuts.value == fluid)
        })
    }
}
