//! What was done so far, where that can't be read off the machine.

use super::{Act, Moment, Thing};
use crate::prose::Verb;
use crate::shop::{Machine, ReadingId, RoleId, Shop, ThingId};
use std::collections::BTreeMap;

/// An account of the job so far.
#[derive(Clone, Debug)]
pub struct Account {
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
    pub fn was_done(&self, verb: Verb, thing: impl Into<ThingId>) -> bool {
        self.done.of(thing.into()) & bit(verb) != 0
    }

    /// What waits for a signature: the role, the thing, since when.
    pub fn unsigned(&self) -> impl Iterator<Item = (RoleId, ThingId, Moment)> + '_ {
        self.unsigned
            .iter()
            .flat_map(|(role, things)| things.iter().map(|(thing, at)| (*role, *thing, *at)))
    }

    /// When a reading was taken, where nothing at all was changed since.
    #[must_use]
    pub fn fresh(&self, reading: ReadingId) -> Option<Moment> {
        self.fresh.get(&reading).copied()
    }

    /// How many actions were done.
    pub(super) fn count(&self) -> u32 {
        self.count
    }

    /// Writes an action down.
    pub(super) fn note(
        &mut self,
        machine: &Machine,
        act: &Act<'_>,
        at: Moment,
        was_unchecked: bool,
    ) {
        self.count += 1;
        let Some(thing) = act.thing.id() else {
            return;
        };
        let Some(done) = self.done.of_mut(thing) else {
            return;
        };
        *done |= bit(act.verb);
        *done &= !opposite(act.verb).map_or(0, bit);
        let looks_only = matches!(
            act.verb,
            Verb::Measure | Verb::Inspect | Verb::Note | Verb::Use | Verb::Apply | Verb::Prove
        );
        if !looks_only && !matches!(act.verb, Verb::See | Verb::Caution) {
            self.fresh = BTreeMap::new();
        }
        match (act.verb, act.thing) {
            (Verb::Measure, Thing::Reading(reading)) => {
                self.fresh.insert(reading.id, at);
            }
            (Verb::Hold, Thing::Role(role)) => {
                self.unsigned.remove(&role.id);
            }
            // What was not signed for by now was found at this run, and is not found again.
            (Verb::Run, _) => {
                for things in self.unsigned.values_mut() {
                    things.retain(|thing, _| *thing == ThingId::Engine);
                }
            }
            _ => {}
        }
        let signer = match (act.verb, act.thing) {
            (Verb::Fit | Verb::Renew | Verb::Tighten, Thing::Part(part)) => part.signed_by.as_ref(),
            // A joint that waited for a look.
            (Verb::Inspect, Thing::Part(part)) if was_unchecked => {
                let carries = part.carries.as_ref();
                carries.and_then(|carries| machine.fluids[carries.value].signed_by.as_ref())
            }
            (Verb::Fill, Thing::Fluid(fluid)) => fluid.signed_by.as_ref(),
            (Verb::Measure, Thing::Reading(reading)) => reading.signed_by.as_ref(),
            (Verb::Stop, _) => machine.run.signed_by.as_ref(),
            _ => None,
        };
        if let Some(role) = signer {
            let things = self.unsigned.entry(role.value).or_default();
            things.insert(thing, at);
        }
    }
}

/// A verb among others in a number; there are fewer of them than it has bits.
fn bit(verb: Verb) -> u32 {
    const { assert!(Verb::ALL.len() <= u32::BITS as usize) };
    1 << verb as u32
}

/// What undoes what.
fn opposite(verb: Verb) -> Option<Verb> {
    Some(match verb {
        Verb::Drain => Verb::Fill,
        Verb::Fill => Verb::Drain,
        Verb::Remove => Verb::Fit,
        Verb::Fit => Verb::Remove,
        Verb::Open => Verb::Close,
        Verb::Close => Verb::Open,
        Verb::Isolate => Verb::Restore,
        Verb::Restore => Verb::Isolate,
        Verb::Confirm => Verb::End,
        Verb::End => Verb::Confirm,
        _ => return None,
    })
}
