//! An action, and the thing it is done to.

use crate::finding::Span;
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::shop::{
    Caution, Energy, Fluid, Part, Reading, Role, RunCondition, Supply, ThingId, Tool, Valve,
};

/// An action, its thing found on the machine; an action on a thing that there is not is in no job.
#[derive(Clone, Debug)]
pub(crate) struct Action<'a> {
    /// What is done.
    pub(crate) verb: Verb,
    /// To what.
    pub(crate) thing: Thing<'a>,
    /// Where it was written.
    pub(crate) span: Span,
    /// The seat a linkage is fitted in, where the author names it.
    pub(crate) seat: Option<&'a str>,
    /// The stage that a fastener is tightened to, from 1; none for all stages one after another.
    pub(crate) stage: Option<usize>,
    /// The actions of the machine's own instruction for it, as in starting an engine.
    pub(crate) inner: Vec<Action<'a>>,
}

/// What an action is on.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Thing<'a> {
    /// A part.
    Part(&'a Part),
    /// A valve.
    Valve(&'a Valve),
    /// A fluid.
    Fluid(&'a Fluid),
    /// A source of energy.
    Energy(&'a Energy),
    /// A condition.
    Condition(&'a RunCondition),
    /// The engine.
    Engine,
    /// A reading.
    Reading(&'a Reading),
    /// A role.
    Role(&'a Role),
    /// A tool.
    Tool(&'a Tool),
    /// A supply.
    Supply(&'a Supply),
    /// A procedure.
    Procedure(&'a Procedure),
    /// A caution.
    Caution(&'a Caution),
    /// A place; the job says which.
    Place,
}

impl Thing<'_> {
    /// Its id; none for a procedure and for a place.
    #[must_use]
    pub(crate) fn id(&self) -> Option<ThingId> {
        Some(match self {
            Thing::Part(part) => part.id.into(),
            Thing::Valve(valve) => valve.id.into(),
            Thing::Fluid(fluid) => fluid.id.into(),
            Thing::Energy(energy) => energy.id.into(),
            Thing::Condition(condition) => condition.id.into(),
            Thing::Engine => ThingId::Engine,
            Thing::Reading(reading) => reading.id.into(),
            Thing::Role(role) => role.id.into(),
            Thing::Tool(tool) => tool.id.into(),
            Thing::Supply(supply) => supply.id.into(),
            Thing::Caution(caution) => caution.id.into(),
            Thing::Procedure(_) | Thing::Place => return None,
        })
    }

    /// Its name, as pages say it; empty where it has none.
    #[must_use]
    pub(crate) fn name(&self) -> &str {
        match self {
            Thing::Part(part) => &part.name,
            Thing::Valve(valve) => &valve.name,
            Thing::Fluid(fluid) => &fluid.name,
            Thing::Energy(energy) => &energy.name,
            Thing::Condition(condition) => &condition.name,
            Thing::Reading(reading) => &reading.name,
            Thing::Role(role) => &role.name,
            Thing::Tool(tool) => &tool.name,
            Thing::Supply(supply) => &supply.name,
            Thing::Procedure(procedure) => &procedure.title.value,
            Thing::Engine | Thing::Caution(_) | Thing::Place => "",
        }
    }

    /// Its key, as the sources name it; empty for a place.
    #[must_use]
    pub(crate) fn key(&self) -> &str {
        match self {
            Thing::Part(part) => &part.key,
            Thing::Valve(valve) => &valve.key,
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
            Thing::Place => "",
        }
    }
}

impl Action<'_> {
    /// Whether a fastener is at its full torque after it, not at a stage on the way there.
    #[must_use]
    pub(crate) fn is_tightened_fully(&self) -> bool {
        match (self.verb, self.thing, self.stage) {
            (Verb::Tighten, Thing::Part(part), Some(stage)) => stage == part.stages.len(),
            (verb, _, _) => verb == Verb::Tighten,
        }
    }
}
