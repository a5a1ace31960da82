//! What actions are on, and the actions that a machine's records name.

use super::{
    CautionId, ConditionId, EnergyId, FluidId, Machine, PartId, ReadingId, RoleId, Shop, SupplyId,
    ToolId, ValveId,
};
use crate::prose::Verb;
use std::fmt;

/// A thing of a machine or of its shop that an action can be on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ThingId {
    /// A part of the machine.
    Part(PartId),
    /// A valve of the machine.
    Valve(ValveId),
    /// A fluid of the machine.
    Fluid(FluidId),
    /// A source of energy in the machine.
    Energy(EnergyId),
    /// A condition of the machine.
    Condition(ConditionId),
    /// The machine's engine.
    Engine,
    /// A reading of the machine.
    Reading(ReadingId),
    /// A role of the shop.
    Role(RoleId),
    /// A tool of the shop.
    Tool(ToolId),
    /// A supply of the shop.
    Supply(SupplyId),
    /// A caution of the shop.
    Caution(CautionId),
}

impl ThingId {
    /// The thing's key, as the sources name it.
    #[must_use]
    pub fn key<'a>(self, shop: &'a Shop, machine: &'a Machine) -> &'a str {
        match self {
            ThingId::Part(id) => &machine.parts[id].key,
            ThingId::Valve(id) => &machine.valves[id].key,
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

macro_rules! things {
    ($($id:ident => $kind:ident),+) => {
        $(impl From<$id> for ThingId {
            fn from(id: $id) -> ThingId {
                ThingId::$kind(id)
            }
        })+
    };
}

things! {
    PartId => Part,
    ValveId => Valve,
    FluidId => Fluid,
    EnergyId => Energy,
    ConditionId => Condition,
    ReadingId => Reading,
    RoleId => Role,
    ToolId => Tool,
    SupplyId => Supply,
    CautionId => Caution
}

/// An action that a machine's record names: `close:fuel-tap`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MachineAction {
    /// What is done.
    pub verb: Verb,
    /// To what.
    pub thing: ThingId,
}

impl MachineAction {
    /// The action as the sources write it.
    pub fn written<'a>(self, shop: &'a Shop, machine: &'a Machine) -> impl fmt::Display + 'a {
        let (verb, key) = (self.verb.word(), self.thing.key(shop, machine));
        fmt::from_fn(move |f| write!(f, "{verb}:{key}"))
    }
}

/// After what a condition no longer holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LostBy {
    /// Any work on the machine's parts: one is taken off, put on, slackened or tightened.
    Work,
    /// An action.
    Action(MachineAction),
}
