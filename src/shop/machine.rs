//! The records of a machine's file.

use super::part::{NamedBy, Part};
use super::{
    CautionId, ConditionId, ControlId, DimensionId, EnergyId, FluidId, Instruction, LostBy,
    MachineAction, MachineId, PartId, PerRecord, Price, ReadingId, Records, RoleId, SerialRange,
    Sourced, SupplyId, SupplyKind, ThingId, ToolId, ValveId,
};
use crate::finding::{FileId, Located, Span};
use crate::prose::Verb;
use crate::quantity::{Rational, Spec};
use crate::trade::{Calculation, Entered};

/// A machine, or a model of which the shop has several machines.
#[derive(Clone, Debug)]
pub(crate) struct Machine {
    pub(crate) index: MachineId,
    /// Its key: the stem of its file's name.
    pub(crate) id: String,
    pub(crate) name: Located<String>,
    /// The key of the machine that it is a variant of.
    pub(crate) like: Option<Located<String>>,
    /// The serial numbers that its file is for.
    pub(crate) serials: SerialRange,
    /// The options that machines of this kind have.
    pub(crate) fitted: Vec<String>,
    pub(crate) engine: Option<Engine>,
    /// The generator that the engine drives.
    pub(crate) generator: Option<Generator>,
    /// The source of all values that have no `basis` field.
    pub(crate) basis: Option<String>,
    pub(crate) note: Option<String>,
    /// The path of a figure in the tree.
    pub(crate) picture: Option<Located<String>>,
    /// The path of the drawing of its wiring in the tree.
    pub(crate) wiring: Option<Located<String>>,
    pub(crate) energies: Records<Energy>,
    pub(crate) valves: Records<Valve>,
    pub(crate) controls: Records<Control>,
    pub(crate) fluids: Records<Fluid>,
    /// All parts, including fasteners and linkages.
    pub(crate) parts: Records<Part>,
    /// By part, the parts whose records name it.
    pub(crate) named_by: PerRecord<Part, NamedBy>,
    /// Its readings, and after them the dimensions of its parts.
    pub(crate) readings: Records<Reading>,
    /// The readings that some action changes, which few machines have.
    pub(crate) changed_readings: Vec<ReadingId>,
    pub(crate) conditions: Records<RunCondition>,
    pub(crate) kits: Records<RepairKit>,
    pub(crate) endings: Endings,
    pub(crate) run: EngineRun,
    pub(crate) file: FileId,
    /// Its own file, and those of the machines that it is like.
    pub(crate) files: Vec<FileId>,
    /// Whether its file could be read in full. If not, no name is reported as unknown on this machine,
    /// because its record may be in the unread part.
    pub(crate) is_complete: bool,
}

impl Machine {
    /// Where its serial numbers are written, or its name.
    #[must_use]
    pub(crate) fn serials_span(&self) -> Span {
        let SerialRange { from, to } = &self.serials;
        let end = from.as_ref().or(to.as_ref());
        end.map_or(self.name.span, |end| end.span)
    }

    /// Whether `run:engine` and `stop:engine` can act on it.
    #[must_use]
    pub(crate) fn has_engine(&self) -> bool {
        self.engine.is_some() || self.run.start.is_some() || self.run.stop.is_some()
    }
}

/// What ends the conditions of a machine, arranged by event: every action of a job has to be looked up in it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Endings {
    /// The conditions that any work ends.
    pub(crate) by_work: Vec<ConditionId>,
    /// The things of the actions that end a condition. They are few, and comparing all is the fastest way to find one.
    things: Vec<ThingId>,
    /// The verbs that end a condition when they are done to each of these things.
    verbs: Vec<Vec<(Verb, ConditionId)>>,
}

impl Endings {
    pub(crate) fn of(conditions: &Records<RunCondition>) -> Endings {
        let mut endings = Endings::default();
        for condition in conditions.values() {
            for by in &condition.lost_by {
                match by.value {
                    LostBy::Work => endings.by_work.push(condition.id),
                    LostBy::Action(by) => {
                        let known = endings.things.iter().position(|thing| *thing == by.thing);
                        let index = known.unwrap_or(endings.things.len());
                        if known.is_none() {
                            endings.things.push(by.thing);
                            endings.verbs.push(Vec::new());
                        }
                        endings.verbs[index].push((by.verb, condition.id));
                    }
                }
            }
        }
        endings
    }

    /// The verbs that end a condition when they are done to a thing, each with the condition.
    pub(crate) fn by(&self, thing: ThingId) -> &[(Verb, ConditionId)] {
        let index = self.things.iter().position(|other| *other == thing);
        index.map_or(&[], |index| &self.verbs[index])
    }
}

#[derive(Clone, Debug)]
pub(crate) struct Engine {
    /// Such as "4-stroke, single, 196 cm³".
    pub(crate) kind: Option<String>,
    /// Sparks per turn of the crankshaft, for a tachometer that counts sparks. One half if the camshaft
    /// triggers them.
    pub(crate) pulses: Option<Located<Rational>>,
}

/// A generator on the engine's shaft.
#[derive(Clone, Debug)]
pub(crate) struct Generator {
    /// The number of poles. An odd number is reported.
    pub(crate) poles: Located<u32>,
    /// The frequency that it must keep.
    pub(crate) frequency: Located<Spec>,
    /// The drop in speed from no load to full load, in percent of the speed that the shop's `droop_of`
    /// says.
    pub(crate) droop: Option<Located<Spec>>,
    /// The reading of its speed without load.
    pub(crate) speed: Option<Located<ReadingId>>,
}

/// The conditions of a run of the engine.
#[derive(Clone, Debug, Default)]
pub(crate) struct EngineRun {
    /// Conditions that must hold during a run.
    pub(crate) needs: Vec<Located<ConditionId>>,
    /// Parts that may be off during a run, fluids that may be empty, valves that may be shut, and energies that may be
    /// isolated.
    pub(crate) may_lack: Vec<Located<ThingId>>,
    /// Parts that must be inspected before a run.
    pub(crate) inspect: Vec<Located<PartId>>,
    /// Readings that must be taken during a run.
    pub(crate) measure: Vec<Located<ReadingId>>,
    /// The role that signs after a run.
    pub(crate) signed_by: Option<Located<RoleId>>,
    pub(crate) start: Option<Instruction>,
    pub(crate) stop: Option<Instruction>,
}

/// The kind of a source of energy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EnergyKind {
    /// A spark, which can start the engine.
    Ignition,
    Electrical,
    /// A part that keeps turning after the engine has stopped.
    Motion,
    Spring,
    Pressure,
    /// A hot part. It is not restored: it cools, and the engine heats it again.
    Heat,
    /// The weight of a part that is raised, or of a machine that is tilted.
    Gravity,
}

/// A source of energy that can hurt someone.
#[derive(Clone, Debug)]
pub(crate) struct Energy {
    pub(crate) id: EnergyId,
    pub(crate) key: String,
    pub(crate) name: String,
    pub(crate) kind: Option<EnergyKind>,
    /// The things that are dangerous to put hands on while this energy is live. `None` means the default: with
    /// ignition, electrical energy and motion, that is any part. Energies of other kinds must name them.
    pub(crate) endangers: Option<Vec<ThingId>>,
    /// How to make it safe.
    pub(crate) isolate: Instruction,
    /// How to show that it is safe.
    pub(crate) prove: Instruction,
    /// How to make it live again. Empty for heat.
    pub(crate) restore: Instruction,
    /// The locks, tags, blocks and pins that keep it isolated.
    pub(crate) secured_by: Vec<Located<ToolId>>,
    /// Cautions shown at actions on it.
    pub(crate) cautions: Vec<Located<CautionId>>,
    pub(crate) span: Span,
}

impl Energy {
    /// Whether it ends by itself and is never restored.
    #[must_use]
    pub(crate) fn is_heat(&self) -> bool {
        self.kind == Some(EnergyKind::Heat)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ValveState {
    Open,
    Closed,
}

#[derive(Clone, Debug)]
pub(crate) struct Valve {
    pub(crate) id: ValveId,
    pub(crate) key: String,
    pub(crate) name: String,
    /// The fluid that it shuts off.
    pub(crate) shuts: Option<Located<FluidId>>,
    /// Its state when a job begins.
    pub(crate) initial: ValveState,
    /// The state that it must be in when the engine is started: open if it shuts a fluid, unless the author gives
    /// another. `None` if either will do.
    pub(crate) running: Option<ValveState>,
}

/// A switch, lever or selector.
#[derive(Clone, Debug)]
pub(crate) struct Control {
    pub(crate) id: ControlId,
    pub(crate) key: String,
    pub(crate) name: String,
    pub(crate) positions: Vec<Located<String>>,
    /// The index of its position when a job begins.
    pub(crate) initial: usize,
    /// The index of the position that it must be in when the engine is started. `None` if any will do.
    pub(crate) running: Option<usize>,
}

impl Control {
    /// The index of a position with this name. Actions write it with hyphens between its words.
    #[must_use]
    pub(crate) fn position(&self, name: &str) -> Option<usize> {
        let wanted = slug(name);
        self.positions
            .iter()
            .position(|position| slug(&position.value) == wanted)
    }

    /// The name of a position.
    #[must_use]
    pub(crate) fn position_name(&self, index: usize) -> &str {
        self.positions
            .get(index)
            .map_or("", |position| &position.value)
    }
}

/// How an action writes a position: in lower case, with hyphens between its words.
#[must_use]
pub(crate) fn slug(position: &str) -> String {
    position.to_lowercase().replace(' ', "-")
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FluidState {
    Full,
    Empty,
}

/// A fluid that a machine holds.
#[derive(Clone, Debug)]
pub(crate) struct Fluid {
    pub(crate) id: FluidId,
    pub(crate) key: String,
    pub(crate) name: String,
    /// The supply that it is filled with. Required, so `None` only if it could not be read.
    pub(crate) supply: Option<Located<SupplyId>>,
    /// The kinds of supply that may be filled in. Empty if the machine does not say.
    pub(crate) takes: Vec<Located<SupplyKind>>,
    pub(crate) capacity: Option<Sourced>,
    /// Its state when a job begins.
    pub(crate) initial: FluidState,
    /// Conditions that must hold when it is drained or filled, or its line is opened.
    pub(crate) needs: Vec<Located<ConditionId>>,
    /// The state of the engine in which its joints show a leak.
    pub(crate) leak_check: EngineNeed,
    /// The part that must be off when it is filled, such as a cap.
    pub(crate) through: Option<Located<PartId>>,
    /// The role that signs after it was filled and its joints were inspected.
    pub(crate) signed_by: Option<Located<RoleId>>,
    /// Cautions shown at actions on it.
    pub(crate) cautions: Vec<Located<CautionId>>,
}

/// The state that the engine must be in when a reading is taken or a joint is inspected for leaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EngineNeed {
    Running,
    Stopped,
}

#[derive(Clone, Debug)]
pub(crate) struct Reading {
    pub(crate) id: ReadingId,
    pub(crate) key: String,
    /// Includes the conditions of the measurement.
    pub(crate) name: String,
    /// Required, so `None` only for a level, or if it could not be read.
    pub(crate) limits: Option<Sourced>,
    /// How the limits were calculated, if they were.
    pub(crate) calculated: Option<Calculated>,
    /// For a level: the marks that it is between.
    pub(crate) level: Option<LevelMarks>,
    /// The fluid that is measured.
    pub(crate) fluid: Option<Located<FluidId>>,
    /// Conditions that must hold when it is taken.
    pub(crate) needs: Vec<Located<ConditionId>>,
    pub(crate) engine: Option<Located<EngineNeed>>,
    /// Energies that may be live while it is taken.
    pub(crate) may_be_live: Vec<Located<EnergyId>>,
    /// Parts that must be on and tight when it is taken or set.
    pub(crate) with: Vec<Located<PartId>>,
    /// Parts that must be off when it is taken or set.
    pub(crate) without: Vec<Located<PartId>>,
    /// Fasteners that lock the adjuster. They must be loose while it is set, and tight when the reading is
    /// taken after that.
    pub(crate) locked_by: Vec<Located<PartId>>,
    /// The actions that change it, so that it has to be measured again.
    pub(crate) changed_by: Vec<Located<MachineAction>>,
    /// The role that signs after it was taken.
    pub(crate) signed_by: Option<Located<RoleId>>,
    /// The measuring tool.
    pub(crate) tool: Option<Located<ToolId>>,
    /// The setting of the tool.
    pub(crate) setting: Option<Located<String>>,
    /// Cautions shown at actions on it.
    pub(crate) cautions: Vec<Located<CautionId>>,
    /// What to do if the value is above the limits.
    pub(crate) over: Option<Instruction>,
    /// What to do if the value is below the limits.
    pub(crate) under: Option<Instruction>,
    /// The dimension of a part that it is, if it is one. The limits are then the wear limit.
    pub(crate) dimension: Option<OfPart>,
}

/// How limits were calculated.
#[derive(Clone, Debug)]
pub(crate) struct Calculated {
    pub(crate) calculation: &'static Calculation,
    /// Its inputs, as given or by default.
    pub(crate) inputs: Vec<Entered>,
}

/// The marks that a level has to be between, such as those of a dipstick.
#[derive(Clone, Debug)]
pub(crate) struct LevelMarks {
    /// As engraved: "MIN".
    pub(crate) lower: String,
    pub(crate) upper: String,
}

/// What the reading of a dimension belongs to.
#[derive(Clone, Debug)]
pub(crate) struct OfPart {
    pub(crate) part: PartId,
    pub(crate) dimension: DimensionId,
    /// The part and the dimension, for lists that are not about the part: "crankshaft, crankpin diameter".
    pub(crate) title: String,
}

impl Reading {
    /// Its name in lists of a machine.
    #[must_use]
    pub(crate) fn title(&self) -> &str {
        let dimension = self.dimension.as_ref();
        dimension.map_or(&self.name, |dimension| &dimension.title)
    }
}

/// New parts that are sold under one number.
#[derive(Clone, Debug)]
pub(crate) struct RepairKit {
    pub(crate) name: String,
    /// The parts that it holds, each once.
    pub(crate) holds: Vec<Located<PartId>>,
    pub(crate) number: Option<String>,
    pub(crate) bin: Option<String>,
    pub(crate) price: Option<Price>,
}

/// A condition that other records can require.
#[derive(Clone, Debug)]
pub(crate) struct RunCondition {
    pub(crate) id: ConditionId,
    pub(crate) key: String,
    /// The events after which it no longer holds.
    pub(crate) lost_by: Vec<Located<LostBy>>,
    /// Actions that must come before it can hold, such as `run:engine`.
    pub(crate) after: Vec<Located<MachineAction>>,
    /// Fluids that must be drained before it can hold, such as the petrol of a machine that is tilted.
    pub(crate) drained: Vec<Located<FluidId>>,
    pub(crate) name: String,
}
