//! What was done so far, where that can't be read off the machine.

use super::{Act, Moment, Thing};
use crate::prose::Verb;
use crate::shop::Machine;
use foldhash::fast::FixedState;
use indexmap::IndexMap;
use std::collections::BTreeMap;

/// As many things as a job of some size does something to.
const FEW_THINGS: usize = 28;

/// An account of the job so far.
#[derive(Clone, Debug, Default)]
pub struct Account<'a> {
    /// By thing, the actions that count still, a bit each: what is drained is no longer filled.
    done: IndexMap<&'a str, u32, FixedState>,
    /// What waits for a signature: by role, the thing and since when.
    unsigned: BTreeMap<&'a str, BTreeMap<&'a str, Moment>>,
    /// Readings that were taken, with nothing changed since.
    fresh: BTreeMap<&'a str, Moment>,
    count: u32,
}

impl<'a> Account<'a> {
    /// Whether something was done, and not undone since.
    #[must_use]
    pub fn was_done(&self, verb: Verb, id: &str) -> bool {
        self.done.get(id).is_some_and(|done| done & bit(verb) != 0)
    }

    /// What waits for a signature: the role, the thing, since when.
    pub fn unsigned(&self) -> impl Iterator<Item = (&'a str, &'a str, Moment)> + '_ {
        self.unsigned
            .iter()
            .flat_map(|(role, things)| things.iter().map(|(thing, at)| (*role, *thing, *at)))
    }

    /// When a reading was taken, where nothing at all was changed since.
    #[must_use]
    pub fn fresh(&self, reading: &str) -> Option<Moment> {
        self.fresh.get(reading).copied()
    }

    /// How many actions were done.
    pub(super) fn count(&self) -> u32 {
        self.count
    }

    /// Writes an action down.
    pub(super) fn note(
        &mut self,
        machine: &'a Machine,
        act: &Act<'a>,
        at: Moment,
        was_unchecked: bool,
    ) {
        self.count += 1;
        let Some(id) = id_of(act.thing) else {
            return;
        };
        if self.done.is_empty() {
            self.done.reserve(FEW_THINGS);
        }
        let done = self.done.entry(id).or_default();
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
            (Verb::Measure, Thing::Reading(_)) => {
                self.fresh.insert(id, at);
            }
            (Verb::Hold, _) => {
                self.unsigned.remove(id);
            }
            // What was not signed for by now was found at this run, and is not found again.
            (Verb::Run, _) => {
                for things in self.unsigned.values_mut() {
                    things.retain(|thing, _| *thing == "engine");
                }
            }
            _ => {}
        }
        let signer = match (act.verb, act.thing) {
            (Verb::Fit | Verb::Renew | Verb::Tighten, Thing::Part(part)) => part.signed_by.as_ref(),
            // A joint that waited for a look.
            (Verb::Inspect, Thing::Part(part)) if was_unchecked => {
                let carries = part.carries.as_ref();
                let fluid = carries.and_then(|carries| machine.fluids.get(&carries.value));
                fluid.and_then(|fluid| fluid.signed_by.as_ref())
            }
            (Verb::Fill, Thing::Fluid(fluid)) => fluid.signed_by.as_ref(),
            (Verb::Measure, Thing::Reading(reading)) => reading.signed_by.as_ref(),
            (Verb::Stop, _) => machine.run.signed_by.as_ref(),
            _ => None,
        };
        if let Some(role) = signer {
            self.unsigned.entry(&role.value).or_default().insert(id, at);
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

/// A thing's id for as long as the job's sources stand.
fn id_of(thing: Thing<'_>) -> Option<&str> {
    Some(match thing {
        Thing::Part(part) => &part.id,
        Thing::Valve(valve) => &valve.id,
        Thing::Fluid(fluid) => &fluid.id,
        Thing::Energy(energy) => &energy.id,
        Thing::Condition(condition) => &condition.id,
        Thing::Reading(reading) => &reading.id,
        Thing::Role(role) => &role.id,
        Thing::Engine => "engine",
        _ => return None,
    })
}
