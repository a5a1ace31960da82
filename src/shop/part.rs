//! The records of a machine's parts.

use super::{
    CautionId, CribTool, DimensionId, EnergyId, FluidId, Instruction, PartId, PerRecord, Price,
    ReadingId, Records, RoleId, Sourced, ToolId, Wire,
};
use crate::finding::{Located, Span};
use crate::quantity::{Kind, Limits, Quantity, Spec};
use crate::trade::{
    Condition, Drive, FastenerPlace, Head, Material, PlugSeat, StrengthClass, Tapped, Thread,
    TighteningPattern,
};

/// A part. Fasteners and linkages are parts with additional fields.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    pub(crate) id: PartId,
    pub(crate) key: String,
    pub(crate) name: String,
    /// Its part number.
    pub(crate) number: Option<String>,
    /// Part numbers that `number` replaces.
    pub(crate) supersedes: Vec<Located<String>>,
    /// Where new ones are kept.
    pub(crate) bin: Option<String>,
    /// The price of one piece.
    pub(crate) price: Option<Price>,
    /// The number of identical pieces.
    pub(crate) count: u32,
    /// Parts in front of it: they come off before it and go back after it.
    pub(crate) behind: Vec<Located<PartId>>,
    /// Fasteners that secure it.
    pub(crate) held_by: Vec<Located<PartId>>,
    /// For a long fastener: the parts that it passes through, from its head inwards. They are also held by it, and each
    /// is behind the one before it.
    pub(crate) stack: Vec<Located<PartId>>,
    /// Parts that may be taken off, loosened, fitted or tightened only while this one is off.
    pub(crate) off_first: Vec<Located<PartId>>,
    /// The fluid in it, which spills when its joint is opened.
    pub(crate) carries: Option<Located<FluidId>>,
    /// For a drain plug: the fluid that runs out when it is off.
    pub(crate) drains: Option<Located<FluidId>>,
    /// Whether a new one must be fitted each time.
    pub(crate) single_use: bool,
    /// Parts whose joint it seals. When one of them was off, a new seal must be fitted.
    pub(crate) seals: Vec<Located<PartId>>,
    /// Whether it must be cleaned before it goes back.
    pub(crate) clean: bool,
    /// Parts that expose it when they are off. It must be inspected before they go back.
    pub(crate) laid_open_by: Vec<Located<PartId>>,
    /// Energies that may be live while it is inspected or its position is noted.
    pub(crate) may_be_live: Vec<Located<EnergyId>>,
    /// The role that signs after it was fitted or tightened.
    pub(crate) signed_by: Option<Located<RoleId>>,
    /// Surfaces to clean before it goes on.
    pub(crate) faces: Vec<String>,
    /// Cautions shown at actions on it.
    pub(crate) cautions: Vec<Located<CautionId>>,
    /// For a linkage: the places that it could sit in.
    pub(crate) positions: Vec<Located<String>>,
    /// The position that is right for this machine, if known.
    pub(crate) position: Option<Located<String>>,
    /// The reading whose limits decide on the position.
    pub(crate) position_by: Option<Located<ReadingId>>,
    /// Positions, each with the values of that reading which it is for.
    pub(crate) position_for: Vec<(Located<String>, Located<Spec>)>,
    /// The positions that it is turned to by hand.
    pub(crate) turned_to: Vec<Located<String>>,
    /// The way round that it goes.
    pub(crate) orientation: Option<String>,
    /// For a fastener, such as `M6` or `1/4-20 UNC`.
    pub(crate) thread: Option<Located<Thread>>,
    /// Its property class or grade, such as `8.8`.
    pub(crate) class: Option<Located<StrengthClass>>,
    /// The wrench that turns it, such as `hex 10 mm`.
    pub(crate) drive: Option<Located<Turned>>,
    /// The torques and angles of its tightening stages. A single stage is the full torque.
    pub(crate) stages: Vec<Sourced>,
    /// The shop's torque tool for all stages. `None` if it has no torque or the crib has no torque tool.
    pub(crate) torque_tool: Option<CribTool>,
    /// The order in which identical pieces are tightened.
    pub(crate) pattern: Option<TighteningPattern>,
    /// Where the pieces are on the joint. Empty if that is not known.
    pub(crate) bolts_at: Vec<FastenerPlace>,
    /// The condition of the thread that the torque applies to, such as dry or oiled.
    pub(crate) assembled: Option<Condition>,
    /// The reason why its torque is low on purpose, such as "brass jet".
    pub(crate) low_torque: Option<String>,
    /// For a spark plug: how it seals.
    pub(crate) spark_plug: Option<Located<PlugSeat>>,
    /// The material of the tapped hole, or of the cylinder head.
    pub(crate) into: Option<Material>,
    /// The tapped hole that it is screwed into, if its material and the length of engagement are known.
    pub(crate) tapped: Option<Tapped>,
    /// The style of its head, which with the thread determines the wrench size.
    pub(crate) head: Option<Located<Head>>,
    /// For a rotating part such as a blade: the diameter of the circle that its tip describes.
    pub(crate) diameter: Option<Located<Spec>>,
    /// For a rotating part: the reading of the engine's speed.
    pub(crate) turns_with: Option<Located<ReadingId>>,
    /// For a rotating part: the belt that drives it from the engine.
    pub(crate) through: Option<Located<PartId>>,
    /// For a rotating part: the limits of the speed of its tip.
    pub(crate) tip_speed: Option<Sourced>,
    /// For a belt: the diameter of the pulley on the engine's side.
    pub(crate) driver: Option<Located<Spec>>,
    /// For a belt: the diameter of the driven pulley.
    pub(crate) driven: Option<Located<Spec>>,
    /// The conditions for using it again.
    pub(crate) reuse: Option<Instruction>,
    /// The limits of a measurement that it must meet to be used again.
    pub(crate) limits: Option<Sourced>,
    /// The dimensions that wear.
    pub(crate) dimensions: Records<Dimension>,
    /// The readings of its dimensions, in the same order.
    pub(crate) dimension_readings: Vec<ReadingId>,
    /// Where on the machine it is.
    pub(crate) place: Option<String>,
    /// For a plug, socket or lead: the wires, in the order of its terminals.
    pub(crate) wires: Vec<Located<Wire>>,
    /// What tells it from parts that look the same.
    pub(crate) mark: Option<String>,
    pub(crate) note: Option<String>,
    pub(crate) span: Span,
}

/// A dimension of a part that wears.
#[derive(Clone, Debug)]
pub(crate) struct Dimension {
    pub(crate) id: DimensionId,
    /// Its key within the part. See [`Part::reading_key`] for that of its reading.
    pub(crate) key: String,
    pub(crate) name: String,
    /// The size of a new part.
    pub(crate) new: Option<Sourced>,
    /// The size to aim at when the part is machined or chosen.
    pub(crate) desired: Option<Sourced>,
    /// What the part must keep to be used again. Required, so `None` only if it could not be read.
    pub(crate) wear_limit: Option<Sourced>,
    /// Where on the part it is measured.
    pub(crate) place: Option<String>,
    /// The measuring tool.
    pub(crate) tool: Option<Located<ToolId>>,
    /// What is done if it is beyond the wear limit.
    pub(crate) beyond: Option<Instruction>,
    pub(crate) span: Span,
}

/// The wrench that turns a fastener.
#[derive(Clone, Debug)]
pub(crate) enum Turned {
    /// A hexagon of a size.
    Hex(Drive),
    /// Any other drive, in the author's words: a slot, a square.
    Other(String),
}

impl Part {
    /// Whether it is tightened by turning, so that it must be started by hand first.
    #[must_use]
    pub(crate) fn is_fastener(&self) -> bool {
        !self.stages.is_empty() || self.thread.is_some() || self.drive.is_some()
    }

    /// Whether a key in the head turns it, rather than a wrench around the head.
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

    /// The size of its hexagon: as written, or derived from its thread and head.
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

    /// The torque of its last stage. `None` if that is an angle, or if it has no stages.
    #[must_use]
    pub(crate) fn full_torque(&self) -> Option<&Sourced> {
        let last = self.stages.last()?;
        (last.spec.value.limits().kind() == Kind::Torque).then_some(last)
    }

    /// The torques among its stages, in order; stages that are angles are left out.
    #[must_use]
    pub(crate) fn torques(&self) -> Vec<Limits> {
        let limits = self.stages.iter().map(|stage| stage.spec.value.limits());
        limits
            .filter(|limits| limits.kind() == Kind::Torque)
            .cloned()
            .collect()
    }

    /// The torques of the stages that an action tightens it to: all of them, or the one that it names.
    #[must_use]
    pub(crate) fn torques_of_stage(&self, stage: Option<usize>) -> Vec<Limits> {
        let Some(stage) = stage else {
            return self.torques();
        };
        let stage = stage
            .checked_sub(1)
            .and_then(|index| self.stages.get(index));
        let limits = stage.map(|stage| stage.spec.value.limits());
        let torque = limits.filter(|limits| limits.kind() == Kind::Torque);
        torque.cloned().into_iter().collect()
    }

    /// Whether its record says when it may be used again. It is then inspected before it is refitted.
    #[must_use]
    pub(crate) fn is_judged(&self) -> bool {
        self.reuse.is_some() || self.limits.is_some() || !self.dimensions.is_empty()
    }

    /// Whether its dimensions alone decide if it may be used again, so that measuring all of them is an inspection.
    #[must_use]
    pub(crate) fn is_judged_by_dimensions(&self) -> bool {
        self.reuse.is_none() && self.limits.is_none() && !self.dimensions.is_empty()
    }

    /// The key of the reading of a dimension: `crankshaft/crankpin`. No id has a slash, so that no other reading has this
    /// key.
    #[must_use]
    pub(crate) fn reading_key(&self, dimension: &Dimension) -> String {
        format!("{}/{}", self.key, dimension.key)
    }

    /// The positions that are for a value: those whose range has all of it.
    pub(crate) fn positions_for(&self, value: &Limits) -> Vec<&Located<String>> {
        let positions = self.position_for.iter();
        let fitting = positions.filter(|(_, range)| value.is_inside(range.value.limits()));
        fitting.map(|(position, _)| position).collect()
    }

    /// Whether it has positions, so that it could go back into the wrong one.
    #[must_use]
    pub(crate) fn is_linkage(&self) -> bool {
        !self.positions.is_empty()
    }
}

/// The parts whose records name a part, in the machine's order, each with the span of the name.
///
/// The rules about fitting a part need them, and would search all parts of the machine otherwise.
#[derive(Clone, Debug, Default)]
pub(crate) struct NamedBy {
    /// The parts that are behind it.
    pub(crate) behind: Vec<Located<PartId>>,
    /// The parts that seal its joint.
    pub(crate) seals: Vec<Located<PartId>>,
    /// The parts that it lays open when it is off.
    pub(crate) laid_open: Vec<Located<PartId>>,
    /// The parts that it holds.
    pub(crate) holds: Vec<Located<PartId>>,
    /// The parts that come off before it, and go back after it.
    pub(crate) off_first: Vec<Located<PartId>>,
}

impl NamedBy {
    pub(crate) fn of(parts: &Records<Part>) -> PerRecord<Part, NamedBy> {
        let mut named_by = PerRecord::new(parts, |_| NamedBy::default());
        for part in parts.values() {
            let add = |list: &mut Vec<Located<PartId>>, name: &Located<PartId>| {
                // A record may name the same part twice.
                if list.last().is_none_or(|last| last.value != part.id) {
                    list.push(name.with(part.id));
                }
            };
            for name in &part.behind {
                add(&mut named_by[name.value].behind, name);
            }
            for name in &part.seals {
                add(&mut named_by[name.value].seals, name);
            }
            for name in &part.laid_open_by {
                add(&mut named_by[name.value].laid_open, name);
            }
            for name in &part.held_by {
                add(&mut named_by[name.value].holds, name);
            }
            for name in &part.off_first {
                add(&mut named_by[name.value].off_first, name);
            }
        }
        named_by
    }
}
