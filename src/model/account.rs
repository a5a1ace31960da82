//! The history of a job, as far as later actions depend on it and the state of the machine does not show it.

use super::Moment;
use crate::prose::Verb;
use crate::shop::{Machine, ReadingId, RoleId, Shop, ThingId};
use std::collections::BTreeMap;

/// The record of the actions of a job so far.
#[derive(Clone, Debug)]
pub(crate) struct Account {
    done: Done,
    /// Things that wait for a signature, by role, each with the action that requires it.
    unsigned: BTreeMap<RoleId, BTreeMap<ThingId, Moment>>,
    /// The readings that were measured, and since which nothing was changed.
    fresh: BTreeMap<ReadingId, Moment>,
    /// Whether any fluid was filled after it was drained.
    is_refilled: bool,
    /// The number of actions so far.
    count: u32,
}

/// For each thing, a bit set of the verbs that were done to it and not undone since.
#[derive(Clone, Debug)]
struct Done {
    /// The bit sets, by kind of thing and then by id.
    bits: Vec<u32>,
    /// For each kind, the index of its first thing in `bits`. The kinds are numbered by [`position`].
    starts: [usize; KINDS],
}

/// The number of kinds of things that are tracked.
const KINDS: usize = 11;

/// The number of a thing's kind, and the thing's index within the kind. `None` for kinds that are not tracked.
fn position(thing: ThingId) -> Option<(usize, usize)> {
    Some(match thing {
        ThingId::Engine => (0, 0),
        ThingId::Part(id) => (1, id.index()),
        ThingId::Valve(id) => (2, id.index()),
        ThingId::Fluid(id) => (3, id.index()),
        ThingId::Energy(id) => (4, id.index()),
        ThingId::Condition(id) => (5, id.index()),
        ThingId::Reading(id) => (6, id.index()),
        ThingId::Role(id) => (7, id.index()),
        ThingId::Tool(id) => (8, id.index()),
        ThingId::Supply(id) => (9, id.index()),
        ThingId::Control(id) => (10, id.index()),
        // Nothing is done to a caution.
        ThingId::Caution(_) => return None,
    })
}

impl Done {
    fn new(shop: &Shop, machine: &Machine) -> Done {
        let counts = [
            1,
            machine.parts.len(),
            machine.valves.len(),
            machine.fluids.len(),
            machine.energies.len(),
            machine.conditions.len(),
            machine.readings.len(),
            shop.roles.len(),
            shop.tools.len(),
            shop.supplies.len(),
            machine.controls.len(),
        ];
        let mut starts = [0; KINDS];
        let mut total = 0;
        for (start, count) in starts.iter_mut().zip(counts) {
            *start = total;
            total += count;
        }
        Done {
            bits: vec![0; total],
            starts,
        }
    }

    /// The bit set of a thing. Empty for a thing that is not tracked.
    fn of(&self, thing: ThingId) -> u32 {
        position(thing).map_or(0, |(kind, index)| self.bits[self.starts[kind] + index])
    }

    fn of_mut(&mut self, thing: ThingId) -> Option<&mut u32> {
        let (kind, index) = position(thing)?;
        Some(&mut self.bits[self.starts[kind] + index])
    }
}

impl Account {
    pub(super) fn new(shop: &Shop, machine: &Machine) -> Account {
        Account {
            done: Done::new(shop, machine),
            unsigned: BTreeMap::new(),
            fresh: BTreeMap::new(),
            is_refilled: false,
            count: 0,
        }
    }

    /// Whether a verb was done to a thing, and not undone since.
    #[must_use]
    pub(crate) fn was_done(&self, verb: Verb, thing: impl Into<ThingId>) -> bool {
        self.done.of(thing.into()) & bit(verb) != 0
    }

    /// Whether any fluid was filled after it was drained.
    pub(crate) fn is_refilled(&self) -> bool {
        self.is_refilled
    }

    /// The things that wait for a signature: the role, the thing, and the action that requires the signature.
    pub(crate) fn unsigned(&self) -> impl Iterator<Item = (RoleId, ThingId, Moment)> + '_ {
        self.unsigned
            .iter()
            .flat_map(|(role, things)| things.iter().map(|(thing, at)| (*role, *thing, *at)))
    }

    /// The action that measured a reading. `None` if anything on the machine was changed since.
    #[must_use]
    pub(crate) fn fresh(&self, reading: ReadingId) -> Option<Moment> {
        self.fresh.get(&reading).copied()
    }

    /// The number of actions so far.
    pub(crate) fn count(&self) -> u32 {
        self.count
    }

    pub(crate) fn count_action(&mut self) {
        self.count += 1;
    }

    /// Records that a verb was done to a thing, and that `undone`, its inverse, no longer counts as done. Returns false
    /// for a thing that is not tracked.
    pub(crate) fn mark_done(&mut self, verb: Verb, undone: Option<Verb>, thing: ThingId) -> bool {
        let Some(done) = self.done.of_mut(thing) else {
            return false;
        };
        self.is_refilled |= verb == Verb::Fill && *done & bit(Verb::Drain) != 0;
        *done |= bit(verb);
        *done &= !undone.map_or(0, bit);
        match verb {
            // A new part is fitted, and a part that is off has not been fitted or renewed since.
            Verb::Renew => *done |= bit(Verb::Fit),
            Verb::Remove => *done &= !bit(Verb::Renew),
            _ => {}
        }
        true
    }

    /// Records that a reading was measured.
    pub(crate) fn mark_fresh(&mut self, reading: ReadingId, at: Moment) {
        self.fresh.insert(reading, at);
    }

    /// Forgets all measured readings, because the machine has changed.
    pub(crate) fn forget_fresh_readings(&mut self) {
        self.fresh = BTreeMap::new();
    }

    /// Records that a thing waits for a signature.
    pub(crate) fn mark_unsigned(&mut self, role: RoleId, thing: ThingId, at: Moment) {
        self.unsigned.entry(role).or_default().insert(thing, at);
    }

    /// Records that a role has signed for everything that waited for it.
    pub(crate) fn mark_signed(&mut self, role: RoleId) {
        self.unsigned.remove(&role);
    }

    /// Forgets the things that wait for a signature, except the engine. Missing signatures are reported when the
    /// engine is started, and must not be reported again after that.
    pub(crate) fn forget_unsigned_but_engine(&mut self) {
        for things in self.unsigned.values_mut() {
            things.retain(|thing, _| *thing == ThingId::Engine);
        }
    }
}

/// The bit of a verb in a bit set.
fn bit(verb: Verb) -> u32 {
    const { assert!(Verb::ALL.len() <= u32::BITS as usize) };
    1 << verb as u32
}
