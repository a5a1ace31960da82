//! Queries on a machine, a part or an action that several rules share.

use crate::finding::{FileId, Located, Span};
use crate::job::{JobStep, Thing};
use crate::prose::Verb;
use crate::quantity::{Limits, Quantity};
use crate::rehearsal::{Changed, EnergyState, Moment, PartPlace, PartState, Scene};
use crate::shop::{Dimension, Energy, EnergyKind, Machine, Part, PartId, Shop, Tool};
use crate::trade::{
    self, Condition, Material, PlausibleTorque, PlugSeat, StrengthClass, Tapped, Thread,
};
use crate::verbs::{endangers, is_done_by_hand};
use std::collections::{BTreeMap, BTreeSet};

/// Every part of every machine whose file could be read completely.
pub(super) fn parts(shop: &Shop) -> impl Iterator<Item = (&Machine, &Part)> {
    let machines = shop.machines.values().filter(|machine| machine.is_complete);
    machines.flat_map(|machine| machine.parts.values().map(move |part| (machine, part)))
}

/// The machines that are variants of one machine and have the same options, with that machine itself, in groups of which
/// some member is limited to some serial numbers.
pub(super) fn variants(shop: &Shop) -> Vec<Vec<&Machine>> {
    let mut groups: BTreeMap<(FileId, BTreeSet<&str>), Vec<&Machine>> = BTreeMap::new();
    for machine in shop.machines.values().filter(|machine| machine.is_complete) {
        let Some(first) = machine.files.last() else {
            continue;
        };
        let options = machine.fitted.iter().map(String::as_str).collect();
        groups.entry((*first, options)).or_default().push(machine);
    }
    let groups = groups.into_values();
    let is_limited = |group: &Vec<&Machine>| {
        let mut group = group.iter();
        group.any(|machine| machine.serials.is_limited())
    };
    groups.filter(is_limited).collect()
}

/// Every dimension of every part of every machine whose file could be read completely.
pub(super) fn dimensions(shop: &Shop) -> impl Iterator<Item = (&Machine, &Part, &Dimension)> {
    parts(shop).flat_map(|(machine, part)| {
        let dimensions = part.dimensions.values();
        dimensions.map(move |dimension| (machine, part, dimension))
    })
}

/// The containers that a step uses, each with the span of the action.
pub(super) fn containers<'s, 'a>(
    step: &'s JobStep<'a>,
) -> impl Iterator<Item = (&'a Tool, Span)> + 's {
    step.actions.iter().filter_map(|action| match action.thing {
        Thing::Tool(tool) if tool.container => Some((tool, action.span)),
        _ => None,
    })
}

/// The bounds and the nominal of limits.
pub(super) fn values_of(limits: &Limits) -> impl Iterator<Item = Quantity> {
    [limits.lower(), limits.nominal(), limits.upper()]
        .into_iter()
        .flatten()
}

/// Whether a wear limit is a least or a greatest value, or both. With a nominal it is a size with its tolerance.
pub(super) fn is_wear_limit(limits: &Limits) -> bool {
    limits.nominal().is_none()
}

/// What the plausible torques of a fastener depend on. Many parts of a shop have the same.
#[derive(PartialEq, Eq, Hash)]
pub(super) struct Fastening<'s> {
    thread: Thread,
    class: Option<StrengthClass>,
    condition: Condition,
    spark_plug: Option<PlugSeat>,
    into: Option<Material>,
    tapped: Option<&'s Tapped>,
    is_seal: bool,
}

impl Fastening<'_> {
    /// `None` if the part's thread is not given.
    ///
    /// A thread is assumed to be dry if its state is not given, as in published tables.
    pub(super) fn of(part: &Part) -> Option<Fastening<'_>> {
        Some(Fastening {
            thread: part.thread.as_ref()?.value,
            class: part.class.as_ref().map(|class| class.value),
            condition: part.assembled.unwrap_or(Condition::Dry),
            spark_plug: part.spark_plug.as_ref().map(|seat| seat.value),
            into: part.into,
            tapped: part.tapped.as_ref(),
            is_seal: part.drains.is_some(),
        })
    }

    /// The plausible torques. `None` if there is no way to know them: it is a pipe thread, or a spark plug
    /// without a published torque.
    ///
    /// A hole whose depth is not given is assumed to be one diameter deep for the floor, which is the least
    /// that is usual (common practice); its ceiling is that of the bolt.
    pub(super) fn plausible_torque(&self) -> Option<Result<PlausibleTorque, trade::Error>> {
        if let Some(seat) = self.spark_plug {
            return PlausibleTorque::of_plug(&self.thread, seat, self.into).map(Ok);
        }
        if self.thread.is_pipe() && self.class.is_none() {
            return None;
        }
        let of_hole =
            |hole| PlausibleTorque::of_joint(&self.thread, self.class, self.condition, hole);
        let shallow = self
            .into
            .filter(|_| self.tapped.is_none())
            .and_then(|material| Tapped::new(material, self.thread.diameter()).ok());
        let plausible = of_hole(self.tapped).and_then(|joint| match &shallow {
            Some(shallow) => Ok(joint.with_floor_of(of_hole(Some(shallow))?)),
            None => Ok(joint),
        });
        Some(plausible.map(|joint| if self.is_seal { joint.of_seal() } else { joint }))
    }
}

/// The fasteners that hold a part before the action: those that are tight, and those that pass through it and are not
/// off.
pub(super) fn holding<'s>(
    scene: &Scene<'_, 's>,
    part: &'s Part,
) -> impl Iterator<Item = (&'s Located<PartId>, PartState)> {
    let machine = scene.machine;
    let passes_through = move |fastener: PartId| {
        let mut stack = machine.parts[fastener].stack.iter();
        stack.any(|member| member.value == part.id)
    };
    let before = scene.before;
    let holders = part.held_by.iter();
    holders
        .map(|holder| (holder, before.part(holder.value)))
        .filter(move |(holder, state)| match state.place {
            PartPlace::On => true,
            PartPlace::Loose => passes_through(holder.value),
            PartPlace::Off => false,
        })
}

/// The energy sources in the state `wanted` that endanger whoever does the action.
pub(super) fn dangers<'s, 'a>(
    scene: &'s Scene<'_, 'a>,
    wanted: EnergyState,
) -> impl Iterator<Item = (&'a Energy, Changed<EnergyState>)> + 's {
    let Scene { action, before, .. } = *scene;
    before.energies_in(wanted).filter(move |(energy, state)| {
        endangers(energy, action, before) && !is_reported_elsewhere(scene, energy, *state)
    })
}

/// Whether `ignition-still-live` reports the danger to whoever handles another energy, or an earlier action on that
/// energy was in the same danger.
fn is_reported_elsewhere(
    scene: &Scene<'_, '_>,
    danger: &Energy,
    state: Changed<EnergyState>,
) -> bool {
    let Thing::Energy(handled) = scene.action.thing else {
        return false;
    };
    if scene.action.verb == Verb::Prove {
        let index = |since: Option<Moment>| since.map(|moment| moment.index);
        return index(state.since) <= index(scene.before.energy(handled.id).since);
    }
    danger.kind == Some(EnergyKind::Ignition) && is_done_by_hand(handled)
}

/// Whether the records of a shop usually have a field: at least four of them, and at least four in five of all.
///
/// A record without such a field is more likely incomplete than different. Common practice, no source.
pub(super) fn is_usual(with: usize, all: usize) -> bool {
    with >= 4 && with * 5 >= all * 4
}

/// Whether a fluid is behind the joint of a part: it is a line, a cup, a cap, a drain plug, or the nut of a line.
///
/// Such a part has a thread of its own size, and is looked at for leaks.
pub(super) fn holds_fluid(machine: &Machine, part: &Part) -> bool {
    let named_by = &machine.named_by[part.id];
    let holds_line = || {
        let mut held = named_by.holds.iter();
        held.any(|held| machine.parts[held.value].carries.is_some())
    };
    let is_line = part.carries.is_some() || part.drains.is_some();
    is_line || holds_line() || !named_by.seals.is_empty()
}
