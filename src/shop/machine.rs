//! A machine's records.

use super::{
    CautionId, ConditionId, EnergyId, FluidId, Instruction, LostBy, MachineAction, MachineId,
    PartId, Price, ReadingId, Records, RoleId, Sourced, SupplyId, ThingId, ToolId, ValveId,
};
use crate::finding::{FileId, Located, Span};
use crate::quantity::{Kind, Limits, Quantity, Rational, Spec};
use crate::trade::{Condition, Drive, Head, StrengthClass, Tapped, Thread};

/// One machine of the fleet, or one model of which there are several.
#[derive(Clone, Debug)]
pub(crate) struct Machine {
    /// Its id among the shop's.
    pub(crate) index: MachineId,
    /// Its key, its file's name.
    pub(crate) id: String,
    /// Its name.
    pub(crate) name: Located<String>,
    /// Its engine.
    pub(crate) engine: Option<Engine>,
    /// The generator it turns.
    pub(crate) generator: Option<Generator>,
    /// Where its values come from, for those without a basis of their own.
    pub(crate) basis: Option<String>,
    /// A remark.
    pub(crate) note: Option<String>,
    /// Sources of energy.
    pub(crate) energies: Records<Energy>,
    /// Valves.
    pub(crate) valves: Records<Valve>,
    /// Fluids.
    pub(crate) fluids: Records<Fluid>,
    /// Parts, fasteners and linkages among them.
    pub(crate) parts: Records<Part>,
    /// Readings.
    pub(crate) readings: Records<Reading>,
    /// Conditions.
    pub(crate) conditions: Records<RunCondition>,
    /// How its engine is run.
    pub(crate) run: EngineRun,
    /// Its file.
    pub(crate) file: FileId,
    /// Whether its file could be read whole; if not, nothing is said to be unknown to it.
    pub(crate) whole: bool,
}

impl Machine {
    /// Whether it has an engine to run and stop.
    #[must_use]
    pub(crate) fn has_engine(&self) -> bool {
        self.engine.is_some() || self.run.start.is_some() || self.run.stop.is_some()
    }
}

/// An engine.
#[derive(Clone, Debug)]
pub(crate) struct Engine {
    /// "4-stroke, single, 196 cm³".
    pub(crate) kind: Option<String>,
    /// Sparks a turn of the crankshaft, for a tachometer that counts sparks; a half where a cam triggers them.
    pub(crate) pulses: Option<Located<Rational>>,
}

/// A generator on the engine's shaft.
#[derive(Clone, Debug)]
pub(crate) struct Generator {
    /// Its poles, an even number.
    pub(crate) poles: Located<u32>,
    /// The frequency it has to keep.
    pub(crate) frequency: Located<Spec>,
    /// How much the speed falls from no load to full load.
    pub(crate) droop: Option<Located<Spec>>,
    /// The reading that is its speed without load.
    pub(crate) speed: Option<Located<ReadingId>>,
}

/// How an engine is run.
#[derive(Clone, Debug, Default)]
pub(crate) struct EngineRun {
    /// Conditions that have to hold.
    pub(crate) needs: Vec<Located<ConditionId>>,
    /// Parts that it may be run without.
    pub(crate) may_lack: Vec<Located<PartId>>,
    /// Parts that somebody has to have looked at before.
    pub(crate) looks: Vec<Located<PartId>>,
    /// Readings without which a run has shown nothing.
    pub(crate) measure: Vec<Located<ReadingId>>,
    /// The role that signs after a run.
    pub(crate) signed_by: Option<Located<RoleId>>,
    /// How to start it.
    pub(crate) start: Option<Instruction>,
    /// How to stop it.
    pub(crate) stop: Option<Instruction>,
}

/// What kind of energy can hurt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EnergyKind {
    /// A spark, and with it an engine that starts.
    Ignition,
    /// A voltage.
    Electrical,
    /// Something that goes on turning.
    Motion,
    /// A spring under tension.
    Spring,
    /// A fluid under pressure.
    Pressure,
    /// Something hot.
    Heat,
}

/// A source of energy.
#[derive(Clone, Debug)]
pub(crate) struct Energy {
    /// Its id among its machine's.
    pub(crate) id: EnergyId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// Its name.
    pub(crate) name: String,
    /// Its kind, where it is given.
    pub(crate) kind: Option<EnergyKind>,
    /// Parts, fluids and other energies that it endangers whoever works on; where it is not said, ignition,
    /// electricity and motion endanger whoever takes anything off.
    pub(crate) endangers: Option<Vec<ThingId>>,
    /// How it is made safe.
    pub(crate) isolate: Instruction,
    /// How it is shown to be safe.
    pub(crate) prove: Instruction,
    /// How it is made live again.
    pub(crate) restore: Instruction,
    /// Cautions it brings with it.
    pub(crate) brings: Vec<Located<CautionId>>,
    /// Where it is declared.
    pub(crate) span: Span,
}

/// Whether a valve lets anything through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ValveState {
    /// It does.
    Open,
    /// It doesn't.
    Closed,
}

/// A valve.
#[derive(Clone, Debug)]
pub(crate) struct Valve {
    /// Its id among its machine's.
    pub(crate) id: ValveId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// Its name.
    pub(crate) name: String,
    /// The fluid it shuts.
    pub(crate) shuts: Option<Located<FluidId>>,
    /// How a job finds it.
    pub(crate) found: ValveState,
}

/// Whether a fluid is in the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FluidState {
    /// It is.
    Full,
    /// It isn't.
    Empty,
}

/// A fluid that a machine holds.
#[derive(Clone, Debug)]
pub(crate) struct Fluid {
    /// Its id among its machine's.
    pub(crate) id: FluidId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// Its name.
    pub(crate) name: String,
    /// The supply it is filled with; none where it could not be read, and nothing is made.
    pub(crate) supply: Option<Located<SupplyId>>,
    /// How much it holds.
    pub(crate) capacity: Option<Sourced>,
    /// How a job finds it.
    pub(crate) found: FluidState,
    /// Conditions that have to hold when it is drained, filled or its line opened.
    pub(crate) needs: Vec<Located<ConditionId>>,
    /// The part that is off when it is filled: a cap, a plug.
    pub(crate) through: Option<Located<PartId>>,
    /// The role that signs after it was filled and its joints were looked over.
    pub(crate) signed_by: Option<Located<RoleId>>,
    /// Cautions it brings with it.
    pub(crate) brings: Vec<Located<CautionId>>,
}

/// A part; a fastener and a linkage are parts with more said of them.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    /// Its id among its machine's.
    pub(crate) id: PartId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// Its name.
    pub(crate) name: String,
    /// Its part number.
    pub(crate) number: Option<String>,
    /// What one of them costs.
    pub(crate) price: Option<Price>,
    /// How many there are.
    pub(crate) count: u32,
    /// Parts that come off before it and go back after it.
    pub(crate) behind: Vec<Located<PartId>>,
    /// Fasteners that secure it.
    pub(crate) held_by: Vec<Located<PartId>>,
    /// The fluid in it, which spills when it is opened.
    pub(crate) carries: Option<Located<FluidId>>,
    /// The fluid that runs out where it was: a drain plug.
    pub(crate) drains: Option<Located<FluidId>>,
    /// Whether it is used once only.
    pub(crate) renew: bool,
    /// Parts whose joint it seals: when one of them was off, a new one goes in.
    pub(crate) seals: Vec<Located<PartId>>,
    /// Whether it is cleaned whenever it is off, before it goes back.
    pub(crate) clean: bool,
    /// Parts that lay it open when they are off: it is looked at before they go back.
    pub(crate) laid_open_by: Vec<Located<PartId>>,
    /// The role that signs after it was fitted or tightened.
    pub(crate) signed_by: Option<Located<RoleId>>,
    /// What is cleaned before it goes on.
    pub(crate) faces: Vec<String>,
    /// Cautions it brings with it.
    pub(crate) brings: Vec<Located<CautionId>>,
    /// A linkage's places it could sit in.
    pub(crate) seats: Vec<Located<String>>,
    /// The place it sits in, where that is known.
    pub(crate) seat: Option<Located<String>>,
    /// How round it goes.
    pub(crate) facing: Option<String>,
    /// A fastener's thread, as `M6` or `1/4-20 UNC`.
    pub(crate) thread: Option<Located<Thread>>,
    /// Its property class or grade.
    pub(crate) class: Option<Located<StrengthClass>>,
    /// What turns it: `hex 10 mm`.
    pub(crate) drive: Option<Located<Turned>>,
    /// Its torque, stage by stage; one alone is the whole.
    pub(crate) stages: Vec<Sourced>,
    /// The order in which several are tightened.
    pub(crate) pattern: Option<String>,
    /// How the thread is when the torque is right.
    pub(crate) assembled: Option<Condition>,
    /// The hole it is screwed into, where that is tapped in something softer than steel.
    pub(crate) tapped: Option<Tapped>,
    /// The style of its head, from which its wrench is known.
    pub(crate) head: Option<Located<Head>>,
    /// The diameter of what turns: a blade.
    pub(crate) diameter: Option<Located<Spec>>,
    /// The speed it turns with: a reading of the engine's.
    pub(crate) turns_with: Option<Located<ReadingId>>,
    /// The belt between the engine and it.
    pub(crate) through: Option<Located<PartId>>,
    /// How fast its tip may go.
    pub(crate) tip_speed: Option<Sourced>,
    /// A belt's pulley on the engine's side.
    pub(crate) driver: Option<Located<Spec>>,
    /// A belt's pulley on the far side.
    pub(crate) driven: Option<Located<Spec>>,
    /// When it may be used again.
    pub(crate) reuse: Option<Instruction>,
    /// What it has to measure to be used again.
    pub(crate) limits: Option<Sourced>,
    /// A remark.
    pub(crate) note: Option<String>,
    /// Where it is declared.
    pub(crate) span: Span,
}

/// What turns a fastener.
#[derive(Clone, Debug)]
pub(crate) enum Turned {
    /// A hex of a size.
    Hex(Drive),
    /// Something else, in the author's words: a slot, a square.
    Other(String),
}

impl Part {
    /// Whether it is turned tight, so that it is started by hand first.
    #[must_use]
    pub(crate) fn is_fastener(&self) -> bool {
        !self.stages.is_empty() || self.thread.is_some() || self.drive.is_some()
    }

    /// Whether a key in the head turns it, not a wrench around it.
    #[must_use]
    pub(crate) fn is_turned_by_key(&self) -> bool {
        match self.drive.as_ref().map(|drive| &drive.value) {
            Some(Turned::Hex(drive)) => drive.is_socket(),
            Some(Turned::Other(_)) => false,
            None => self
                .head
                .as_ref()
                .is_some_and(|head| head.value == Head::Socket),
        }
    }

    /// The hex that turns it, as written or from its thread and head.
    #[must_use]
    pub(crate) fn hex_size(&self) -> Option<Quantity> {
        match self.drive.as_ref().map(|drive| &drive.value) {
            Some(Turned::Hex(drive)) => Some(drive.size().clone()),
            Some(Turned::Other(_)) => None,
            None => {
                let (thread, head) = (self.thread.as_ref()?, self.head.as_ref()?);
                head.value.across_flats(&thread.value)
            }
        }
    }

    /// Its torques, stage by stage.
    #[must_use]
    pub(crate) fn torques(&self) -> Vec<Limits> {
        let limits = self.stages.iter().map(|stage| stage.spec.value.limits());
        limits
            .filter(|limits| limits.kind() == Kind::Torque)
            .cloned()
            .collect()
    }

    /// Whether it could go back in more than one place.
    #[must_use]
    pub(crate) fn is_linkage(&self) -> bool {
        !self.seats.is_empty()
    }
}

/// How the engine has to be when a reading is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EngineNeed {
    /// It turns.
    Running,
    /// It stands.
    Stopped,
}

/// A reading that is taken on a machine.
#[derive(Clone, Debug)]
pub(crate) struct Reading {
    /// Its id among its machine's.
    pub(crate) id: ReadingId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// Its name, with its conditions.
    pub(crate) name: String,
    /// What it may be.
    pub(crate) limits: Option<Sourced>,
    /// Conditions that have to hold when it is taken.
    pub(crate) needs: Vec<Located<ConditionId>>,
    /// Whether the engine has to run or to stand when it is taken.
    pub(crate) engine: Option<Located<EngineNeed>>,
    /// Parts that have to be on, and tight, when it is taken or set.
    pub(crate) with: Vec<Located<PartId>>,
    /// Parts that have to be off when it is taken or set.
    pub(crate) without: Vec<Located<PartId>>,
    /// Fasteners that lock what it is set with: slack while it is set, tight when it is taken after.
    pub(crate) locked_by: Vec<Located<PartId>>,
    /// The role that signs after it was taken.
    pub(crate) signed_by: Option<Located<RoleId>>,
    /// What it is taken with.
    pub(crate) tool: Option<Located<ToolId>>,
    /// Cautions it brings with it.
    pub(crate) brings: Vec<Located<CautionId>>,
    /// What to do when it is over.
    pub(crate) over: Option<Instruction>,
    /// What to do when it is under.
    pub(crate) under: Option<Instruction>,
}

/// Something that has to hold.
#[derive(Clone, Debug)]
pub(crate) struct RunCondition {
    /// Its id among its machine's.
    pub(crate) id: ConditionId,
    /// Its key, as the sources name it.
    pub(crate) key: String,
    /// After what it no longer holds.
    pub(crate) lost_by: Vec<Located<LostBy>>,
    /// Actions before which it can't hold, as `run:engine`.
    pub(crate) after: Vec<Located<MachineAction>>,
    /// Its name.
    pub(crate) name: String,
}
