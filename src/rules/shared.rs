//! What several rules ask of a machine, a part or an action.

use crate::finding::Located;
use crate::rehearsal::{Changed, EnergyState, PartPlace, PartState, Scene};
use crate::shop::{Energy, EnergyKind, Machine, Part, PartId, Shop};
use crate::trade::{self, Condition, Takes, takes};
use crate::verbs::Trait;

/// Every part of every machine that could be read whole.
pub(super) fn parts(shop: &Shop) -> impl Iterator<Item = (&Machine, &Part)> {
    let machines = shop.machines.values().filter(|machine| machine.is_complete);
    machines.flat_map(|machine| machine.parts.values().map(move |part| (machine, part)))
}

/// What a fastener takes. None where its thread or class is not given.
///
/// A thread whose state is not given is taken as dry, as published tables are.
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

/// The fasteners that hold a part and are tight just now.
pub(super) fn tight_holders<'p>(
    scene: &Scene<'_, '_>,
    part: &'p Part,
) -> impl Iterator<Item = (&'p Located<PartId>, PartState)> {
    let holders = part.held_by.iter();
    holders
        .map(|holder| (holder, scene.before.part(holder.value)))
        .filter(|(_, state)| state.place == PartPlace::On)
}

/// The energies in a state that endanger whoever does an action that puts hands in.
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
