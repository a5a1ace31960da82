//! Formats the keys of things and actions as the sources write them.

use super::{Machine, MachineAction, Shop, ThingId};
use std::fmt;

impl ThingId {
    #[must_use]
    pub(crate) fn key<'a>(self, shop: &'a Shop, machine: &'a Machine) -> &'a str {
        match self {
            ThingId::Part(id) => &machine.parts[id].key,
            ThingId::Valve(id) => &machine.valves[id].key,
            ThingId::Control(id) => &machine.controls[id].key,
            ThingId::Fluid(id) => &machine.fluids[id].key,
            ThingId::Energy(id) => &machine.energies[id].key,
            ThingId::Condition(id) => &machine.conditions[id].key,
            ThingId::Engine => "engine",
            ThingId::Reading(id) => &machine.readings[id].key,
            ThingId::Role(id) => &shop.roles[id].key,
            ThingId::Tool(id) => &shop.tools[id].key,
            ThingId::Supply(id) => &shop.supplies[id].key,
            ThingId::Caution(id) => &shop.cautions[id].key,
        }
    }
}

impl MachineAction {
    /// The action in source notation, such as `close:fuel-tap`.
    #[must_use]
    pub(crate) fn written<'a>(
        self,
        shop: &'a Shop,
        machine: &'a Machine,
    ) -> impl fmt::Display + 'a {
        let (verb, key) = (self.verb.word(), self.thing.key(shop, machine));
        fmt::from_fn(move |f| write!(f, "{verb}:{key}"))
    }
}
