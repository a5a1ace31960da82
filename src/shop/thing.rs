//! The ids of things that actions act on, and the actions that a machine's records name.

use super::{
    CautionId, ConditionId, ControlId, EnergyId, FluidId, PartId, ReadingId, RoleId, SupplyId,
    ToolId, ValveId,
};
use crate::prose::Verb;

/// The id of a thing that an action can act on: of a machine or of the shop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum ThingId {
    Part(PartId),
    Valve(ValveId),
    Control(ControlId),
    Fluid(FluidId),
    Energy(EnergyId),
    Condition(ConditionId),
    Engine,
    Reading(ReadingId),
    Role(RoleId),
    Tool(ToolId),
    Supply(SupplyId),
    Caution(CautionId),
}

macro_rules! things {
    ($($id:ident => $variant:ident),+) => {
        $(impl From<$id> for ThingId {
            fn from(id: $id) -> ThingId {
                ThingId::$variant(id)
            }
        })+
    };
}

things! {
    PartId => Part,
    ValveId => Valve,
    ControlId => Control,
    FluidId => Fluid,
    EnergyId => Energy,
    ConditionId => Condition,
    ReadingId => Reading,
    RoleId => Role,
    ToolId => Tool,
    SupplyId => Supply,
    CautionId => Caution
}

/// The shop's torque tool for a fastener, as it is stored with the fastener: sheets and rules look it up for every step
/// that tightens it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum CribTool {
    /// Its range covers every stage.
    Covers(ToolId),
    /// No tool covers every stage. This tool comes nearest.
    Nearest(ToolId),
}

/// An action that a machine's record names: `close:fuel-tap`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct MachineAction {
    pub(crate) verb: Verb,
    pub(crate) thing: ThingId,
}

/// An event after which a condition no longer holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum LostBy {
    /// Any part is taken off, put on, slackened or tightened.
    Work,
    /// A certain action.
    Action(MachineAction),
}
