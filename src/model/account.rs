//! What was done so far, where that can't be read off the machine.

use super::Moment;
use crate::prose::Verb;
use crate::shop::{Machine, ReadingId, RoleId, Shop, ThingId};
use std::collections::BTreeMap;

/// An account of the job so far.
#[derive(Clone, Debug)]
pub(crate) struct Account {
    done: Done,
    /// What waits for a signature: by role, the thing and since when.
    unsigned: BTreeMap<RoleId, BTreeMap<ThingId, Moment>>,
    /// Readings that were taken, with nothing changed since.
    fresh: BTreeMap<ReadingId, Moment>,
    count: u32,
}

/// By thing, the actions that count still, a bit each: what is drained is no longer filled.
#[derive(Clone, Debug)]
struct Done {
    /// For each kind of thing that is kept account of, the things in order of their ids.
    bits: Vec<u32>,
    /// Of each kind, in order of [`place`], the place of its first thing.
    starts: [usize; KINDS],
}

/// How many kinds of thing are kept account of.
const KINDS: usize = 8;

/// A thing's kind among those that are kept account of, and its place among the things of the kind.
fn place(thing: ThingId) -> Option<(usize, usize)> {
    Some(match thing {
        ThingId::Engine => (0, 0),
        ThingId::Part(id) => (1, id.index()),
        ThingId::Valve(id) => (2, id.index()),
        ThingId::Fluid(id) => (3, id.index()),
        ThingId::Energy(id) => (4, id.index()),
        ThingId::Condition(id) => (5, id.index()),
        ThingId::Reading(id) => (6, id.index()),
        ThingId::Role(id) => (7, id.index()),
        ThingId::Tool(_) | ThingId::Supply(_) | ThingId::Caution(_) => return None,
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
        ];
        let mut starts = [0; KINDS];
        let mut all = 0;
        for (start, count) in starts.iter_mut().zip(counts) {
            *start = all;
            all += count;
        }
        Done {
            bits: vec![0; all],
            starts,
        }
    }

    /// The actions that count still of a thing; none of one that is not kept account of.
    fn of(&self, thing: ThingId) -> u32 {
        place(thing).map_or(0, |(kind, at)| self.bits[self.starts[kind] + at])
    }

    fn of_mut(&mut self, thing: ThingId) -> Option<&mut u32> {
        let (kind, at) = place(thing)?;
        Some(&mut self.bits[self.starts[kind] + at])
    }
}

impl Account {
    pub(super) fn new(shop: &Shop, machine: &Machine) -> Account {
        Account {
            done: Done::new(shop, machine),
            unsigned: BTreeMap::new(),
            fresh: BTreeMap::new(),
            count: 0,
        }
    }

    /// Whether something was done, and not undone since.
    #[must_use]
    pub(crate) fn was_done(&self, verb: Verb, thing: impl Into<ThingId>) -> bool {
        self.done.of(thing.into()) & bit(verb) != 0
    }

    /// What waits for a signature: the role, the thing, since when.
    pub(crate) fn unsigned(&self) -> impl Iterator<Item = (RoleId, ThingId, Moment)> + '_ {
        self.unsigned
            .iter()
            .flat_map(|(role, things)| things.iter().map(|(thing, at)| (*role, *thing, *at)))
    }

    /// When a reading was taken, where nothing at all was changed since.
    #[must_use]
    pub(crate) fn fresh(&self, reading: ReadingId) -> Option<Moment> {
        self.fresh.get(&reading).copied()
    }

    /// How many actions were done.
    pub(crate) fn count(&self) -> u32 {
        self.count
    }

    /// Counts one more action.
    pub(crate) fn count_action(&mut self) {
        self.count += 1;
    }

    /// Marks that a verb was done to a thing, and that what it undoes no longer is. False for a thing that
    /// no account is kept of.
    pub(crate) fn mark_done(&mut self, verb: Verb, undone: Option<Verb>, thing: ThingId) -> bool {
        let Some(done) = self.done.of_mut(thing) else {
            return false;
        };
        *done |= bit(verb);
        *done &= !undone.map_or(0, bit);
        true
    }

    /// Marks that a reading was taken, with nothing changed since.
    pub(crate) fn mark_fresh(&mut self, reading: ReadingId, at: Moment) {
        self.fresh.insert(reading, at);
    }

    /// Forgets all readings that were taken: the machine has changed.
    pub(crate) fn forget_fresh_readings(&mut self) {
        self.fresh = BTreeMap::new();
    }

    /// Marks that a thing waits for a signature.
    pub(crate) fn mark_unsigned(&mut self, role: RoleId, thing: ThingId, at: Moment) {
        self.unsigned.entry(role).or_default().insert(thing, at);
    }

    /// Marks that a role has signed for all that waited for it.
    pub(crate) fn mark_signed(&mut self, role: RoleId) {
        self.unsigned.remove(&role);
    }

    /// Forgets what waits for a signature, other than the engine's run: what was not signed for when
    /// the engine is run was reported there, and is not reported again.
    pub(crate) fn forget_unsigned_but_engine(&mut self) {
        for things in self.unsigned.values_mut() {
            things.retain(|thing, _| *thing == ThingId::Engine);
        }
    }
}

/// A verb among others in a number; there are fewer of them than it has bits.
fn bit(verb: Verb) -> u32 {
    const { assert!(Verb::ALL.len() <= u32::BITS as usize) };
    1 << verb as u32
}
