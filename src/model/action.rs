//! An action and the thing that it acts on.

use super::SupplyAmount;
use crate::finding::Span;
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::shop::{
    Caution, Control, Energy, Fluid, Part, Reading, Role, RunCondition, Supply, ThingId, Tool,
    Valve, WaitTime,
};

/// An action whose thing exists. Actions on unknown things are findings and never become part of a job.
#[derive(Clone, Debug)]
pub(crate) struct Action<'a> {
    pub(crate) verb: Verb,
    pub(crate) thing: Thing<'a>,
    /// The link, or the heading of the section for a derived action.
    pub(crate) span: Span,
    /// The position that a linkage is fitted in or a part is turned to, if the author names one, or that a control is set
    /// to.
    pub(crate) position: Option<&'a str>,
    /// The stage that a fastener is tightened to, from 1. `None` means all stages in order.
    pub(crate) stage: Option<usize>,
    /// Whether a fluid is filled with its whole capacity, rather than topped up if it is full.
    pub(crate) is_whole: bool,
    /// How much of a supply is applied, if the author says so.
    pub(crate) amount: Option<Box<SupplyAmount>>,
    /// The actions in the machine's own instruction for this action, such as for starting the engine.
    pub(crate) inner: Vec<Action<'a>>,
}

/// The thing that an action acts on.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Thing<'a> {
    Part(&'a Part),
    Valve(&'a Valve),
    Control(&'a Control),
    Fluid(&'a Fluid),
    Energy(&'a Energy),
    Condition(&'a RunCondition),
    Engine,
    Reading(&'a Reading),
    Role(&'a Role),
    Tool(&'a Tool),
    Supply(&'a Supply),
    Procedure(&'a Procedure),
    Caution(&'a Caution),
    Time(WaitTime),
    /// The target of a reference. The job finds it by the span of the link.
    Place,
}

impl Thing<'_> {
    /// `None` for a procedure, a place and a time.
    #[must_use]
    pub(crate) fn id(&self) -> Option<ThingId> {
        Some(match self {
            Thing::Part(part) => part.id.into(),
            Thing::Valve(valve) => valve.id.into(),
            Thing::Control(control) => control.id.into(),
            Thing::Fluid(fluid) => fluid.id.into(),
            Thing::Energy(energy) => energy.id.into(),
            Thing::Condition(condition) => condition.id.into(),
            Thing::Engine => ThingId::Engine,
            Thing::Reading(reading) => reading.id.into(),
            Thing::Role(role) => role.id.into(),
            Thing::Tool(tool) => tool.id.into(),
            Thing::Supply(supply) => supply.id.into(),
            Thing::Caution(caution) => caution.id.into(),
            Thing::Procedure(_) | Thing::Place | Thing::Time(_) => return None,
        })
    }

    /// The name to print. Empty for the engine, a caution, a place and a time.
    #[must_use]
    pub(crate) fn name(&self) -> &str {
        match self {
            Thing::Part(part) => &part.name,
            Thing::Valve(valve) => &valve.name,
            Thing::Control(control) => &control.name,
            Thing::Fluid(fluid) => &fluid.name,
            Thing::Energy(energy) => &energy.name,
            Thing::Condition(condition) => &condition.name,
            Thing::Reading(reading) => &reading.name,
            Thing::Role(role) => &role.name,
            Thing::Tool(tool) => &tool.name,
            Thing::Supply(supply) => &supply.name,
            Thing::Procedure(procedure) => &procedure.title.value,
            Thing::Engine | Thing::Caution(_) | Thing::Place | Thing::Time(_) => "",
        }
    }

    /// The key in the sources. Empty for a place and a time.
    #[must_use]
    pub(crate) fn key(&self) -> &str {
        match self {
            Thing::Part(part) => &part.key,
            Thing::Valve(valve) => &valve.key,
            Thing::Control(control) => &control.key,
            Thing::Fluid(fluid) => &fluid.key,
            Thing::Energy(energy) => &energy.key,
            Thing::Condition(condition) => &condition.key,
            Thing::Engine => "engine",
            Thing::Reading(reading) => &reading.key,
            Thing::Role(role) => &role.key,
            Thing::Tool(tool) => &tool.key,
            Thing::Supply(supply) => &supply.key,
            Thing::Procedure(procedure) => &procedure.id,
            Thing::Caution(caution) => &caution.key,
            Thing::Place | Thing::Time(_) => "",
        }
    }
}

impl Action<'_> {
    /// Whether the action tightens a fastener to its full torque, rather than to an earlier stage.
    #[must_use]
    pub(crate) fn is_tightened_fully(&self) -> bool {
        match (self.verb, self.thing, self.stage) {
            (Verb::Tighten, Thing::Part(part), Some(stage)) => stage == part.stages.len(),
            (verb, _, _) => verb == Verb::Tighten,
        }
    }
}
