//! Queries on a machine, a part or an action that several rules share.

use crate::finding::Located;
use crate::rehearsal::{Changed, EnergyState, PartPlace, PartState, Scene};
use crate::shop::{Energy, EnergyKind, Machine, Part, PartId, Shop};
use crate::trade::{self, Condition, Takes, takes};
use crate::verbs::Trait;

/// Every part of every machine whose file could be read completely.
pub(super) fn parts(shop: &Shop) -> impl Iterator<Item = (&Machine, &Part)> {
    let machines = shop.machines.values().filter(|machine| machine.is_complete);
    machines.flat_map(|machine| machine.parts.values().map(move |part| (machine, part)))
}

/// The torque that a fastener can take. None if its thread or class is not given.
///
/// A thread is assumed to be dry if its state is not given, as in published tables.
pub(super) fn takes_of(part: &Part) -> Option<Result<Takes, trade::Error>> {
    let (thread, class) = (part.thread.as_ref()?, part.class.as_ref()?);
    let condition = part.assembled.unwrap_or(Condition::Dry);
    Some(takes(
        &thread.value,
        class.value,
        condition,
        part.tapped.as_ref(),
    ))
}

/// The fasteners that hold a part and are tight before the action.
pub(super) fn tight_holders<'p>(
    scene: &Scene<'_, '_>,
    part: &'p Part,
) -> impl Iterator<Item = (&'p Located<PartId>, PartState)> {
    let holders = part.held_by.iter();
    holders
        .map(|holder| (holder, scene.before.part(holder.value)))
        .filter(|(_, state)| state.place == PartPlace::On)
}

/// The energy sources in the state `wanted` that endanger whoever does the action.
pub(super) fn dangers<'s, 'a>(
    scene: &'s Scene<'_, 'a>,
    wanted: EnergyState,
) -> impl Iterator<Item = (&'a Energy, Changed<EnergyState>)> + 's {
    let Scene { action, before, .. } = *scene;
    let is_always_endangered = action.verb.spec().has(Trait::AlwaysEndangered);
    // The state is checked first: in most scenes every energy is proved.
    let energies = before
        .energies()
        .filter(move |(_, state)| state.now == wanted);
    energies.filter(move |(energy, _)| {
        let is_general = matches!(
            energy.kind,
            Some(EnergyKind::Ignition | EnergyKind::Electrical | EnergyKind::Motion)
        );
        let named = energy.endangers.as_ref();
        named.map_or(is_general && is_always_endangered, |named| {
            action
                .thing
                .id()
                .is_some_and(|thing| named.contains(&thing))
        })
    })
}
