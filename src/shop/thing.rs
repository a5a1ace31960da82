//! What actions are on, and the actions that a machine's records name.

use super::{
    CautionId, ConditionId, EnergyId, FluidId, PartId, ReadingId, RoleId, SupplyId, ToolId, ValveId,
};
use crate::prose::Verb;

/// A thing of a machine or of its shop that an action can be on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum ThingId {
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
pub(crate) struct MachineAction {
    /// What is done.
    pub(crate) verb: Verb,
    /// To what.
    pub(crate) thing: ThingId,
}

/// After what a condition no longer holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LostBy {
    /// Any work on the machine's parts: one is taken off, put on, slackened or tightened.
    Work,
    /// An action.
    Action(MachineAction),
}
