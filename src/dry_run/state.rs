//! The model of a machine.

use super::Moment;
use super::account::Account;
use crate::job::{Act, Thing};
use crate::prose::Verb;
use crate::shop::{FluidState, Machine, Part, ValveState, WORK};
use std::collections::BTreeMap;

/// A state and the action that brought it about; none where it is as found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Changed<T> {
    /// The state.
    pub now: T,
    /// The action.
    pub since: Option<Moment>,
}

impl<T> Changed<T> {
    fn found(now: T) -> Changed<T> {
        Changed { now, since: None }
    }

    fn set(&mut self, now: T, at: Moment) {
        self.now = now;
        self.since = Some(at);
    }
}

/// Where a part is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PartPlace {
    /// On, and tight where it is a fastener.
    #[default]
    On,
    /// On, but loose.
    Loose,
    /// Off.
    Off,
}

/// A part in the course of the job.
#[derive(Clone, Copy, Debug, Default)]
pub struct PartState {
    /// Where it is.
    pub place: PartPlace,
    /// Which action put it there; none as found.
    pub since: Option<Moment>,
    /// What was done to put it there, and as the how-manieth action of the job.
    pub how: Option<(Verb, u32)>,
    /// As the how-manieth action of the job it last came off.
    pub came_off: Option<u32>,
    /// Which action looked at it since it was last put on, or cleaned where that comes first.
    pub inspected: Option<Moment>,
    /// Which action cleaned it since it was last put on.
    pub cleaned: Option<Moment>,
    /// The stage it was tightened to since it was loosened; 0 where it was to none.
    pub stage: usize,
    /// Which action noted its seat.
    pub noted: Option<Moment>,
    /// Which action put it back, or a new one, since it was last looked over for leaks.
    pub unchecked: Option<Moment>,
}

/// Whether a source of energy can hurt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EnergyState {
    /// It can.
    Live,
    /// It was isolated, and nobody has shown that it worked.
    Isolated,
    /// It was isolated and proved.
    Proved,
}

/// Whether a fluid is in the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FluidLevel {
    /// It is.
    Full,
    /// It isn't.
    Empty,
}

/// Whether the engine turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EngineState {
    /// It stands.
    Stopped,
    /// It turns.
    Running,
}

/// What is known of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingState {
    /// It was measured.
    Measured,
    /// It was adjusted since.
    Stale,
}

/// The machine's state at one moment of the job.
#[derive(Clone, Debug)]
pub struct State<'a> {
    parts: BTreeMap<&'a str, PartState>,
    valves: BTreeMap<&'a str, Changed<ValveState>>,
    fluids: BTreeMap<&'a str, Changed<FluidLevel>>,
    energies: BTreeMap<&'a str, Changed<EnergyState>>,
    /// Conditions that hold, and since when.
    conditions: BTreeMap<&'a str, Moment>,
    readings: BTreeMap<&'a str, Changed<ReadingState>>,
    engine: Changed<EngineState>,
    account: Account<'a>,
}

impl<'a> State<'a> {
    /// The state that a job finds a machine in: parts on, valves and fluids as the machine's file
    /// says, every energy live: it may come in hot, and a job can't know.
    pub(super) fn found(machine: &'a Machine) -> State<'a> {
        let valves = machine.valves.values().map(|valve| {
            let found = Changed::found(valve.found);
            (valve.id.as_str(), found)
        });
        let fluids = machine.fluids.values().map(|fluid| {
            let level = match fluid.found {
                FluidState::Full => FluidLevel::Full,
                FluidState::Empty => FluidLevel::Empty,
            };
            (fluid.id.as_str(), Changed::found(level))
        });
        let energies = machine
            .energies
            .values()
            .map(|energy| (energy.id.as_str(), Changed::found(EnergyState::Live)));
        State {
            parts: BTreeMap::new(),
            valves: valves.collect(),
            fluids: fluids.collect(),
            energies: energies.collect(),
            conditions: BTreeMap::new(),
            readings: BTreeMap::new(),
            engine: Changed::found(EngineState::Stopped),
            account: Account::default(),
        }
    }

    /// A part's state.
    #[must_use]
    pub fn part(&self, id: &str) -> PartState {
        self.parts.get(id).copied().unwrap_or_default()
    }

    /// Parts that something was done to, by id.
    pub fn parts(&self) -> impl Iterator<Item = (&'a str, PartState)> + '_ {
        self.parts.iter().map(|(id, state)| (*id, *state))
    }

    /// A valve's state.
    #[must_use]
    pub fn valve(&self, id: &str) -> Option<Changed<ValveState>> {
        self.valves.get(id).copied()
    }

    /// A fluid's state.
    #[must_use]
    pub fn fluid(&self, id: &str) -> Option<Changed<FluidLevel>> {
        self.fluids.get(id).copied()
    }

    /// An energy's state.
    #[must_use]
    pub fn energy(&self, id: &str) -> Option<Changed<EnergyState>> {
        self.energies.get(id).copied()
    }

    /// Since when a condition holds; none where it doesn't.
    #[must_use]
    pub fn condition(&self, id: &str) -> Option<Moment> {
        self.conditions.get(id).copied()
    }

    /// Readings that were measured or adjusted, by id.
    pub fn readings(&self) -> impl Iterator<Item = (&'a str, Changed<ReadingState>)> + '_ {
        self.readings.iter().map(|(id, state)| (*id, *state))
    }

    /// The engine's state.
    #[must_use]
    pub fn engine(&self) -> Changed<EngineState> {
        self.engine
    }

    /// What was done so far, as far as later actions ask for it.
    #[must_use]
    pub fn account(&self) -> &Account<'a> {
        &self.account
    }

    /// Whether a fluid stands in the parts that carry it, so that a look shows a leak.
    #[must_use]
    pub fn is_wet(&self, machine: &Machine, fluid: &str) -> bool {
        let is_shut = machine.valves.values().any(|valve| {
            let shuts = valve
                .shuts
                .as_ref()
                .is_some_and(|shuts| shuts.value == fluid);
            shuts
                && self
                    .valve(&valve.id)
                    .is_some_and(|one| one.now == ValveState::Closed)
        });
        !is_shut
            && self
                .fluid(fluid)
                .is_some_and(|one| one.now == FluidLevel::Full)
    }

    /// A locknut that is tightened moves what was set.
    fn locked(&mut self, machine: &'a Machine, part: &str, at: Moment) {
        if self.part(part).place != PartPlace::Loose {
            return;
        }
        for reading in machine.readings.values() {
            let is_locked = reading.locked_by.iter().any(|lock| lock.value == part);
            if is_locked && self.account.was_done(Verb::Adjust, &reading.id) {
                set(&mut self.readings, &reading.id, ReadingState::Stale, at);
            }
        }
    }

    /// Gives up the conditions that an action breaks: water shut off is no water on.
    fn lose_conditions(&mut self, machine: &Machine, act: &Act<'_>) {
        self.conditions.retain(|id, _| {
            let condition = machine.conditions.get(*id);
            let mut lost_by = condition
                .into_iter()
                .flat_map(|condition| &condition.lost_by);
            !lost_by.any(|action| match action.value.strip_prefix(act.verb.word()) {
                Some(rest) => rest.strip_prefix(':') == Some(act.thing.id()),
                None => action.value == WORK && is_work(act.verb),
            })
        });
    }

    /// All that is not as a job finds it: each thing's id, and in a word how it is.
    #[must_use]
    pub fn differences(&self, machine: &Machine) -> Vec<(&'a str, &'static str)> {
        let mut all = Vec::new();
        let parts = self.parts.iter().map(|(id, state)| {
            let word = match state.place {
                PartPlace::Off => Some("off"),
                PartPlace::Loose if state.stage > 0 => Some("tightened to a stage"),
                PartPlace::Loose => Some("loose"),
                PartPlace::On => None,
            };
            (*id, word)
        });
        let valves = self.valves.iter().map(|(id, state)| {
            let found = machine.valves.get(*id).map(|valve| valve.found);
            let word = match state.now {
                ValveState::Open => "open",
                ValveState::Closed => "closed",
            };
            (*id, Some(word).filter(|_| found != Some(state.now)))
        });
        let fluids = self.fluids.iter().map(|(id, state)| {
            let found = machine.fluids.get(*id).map(|fluid| fluid.found);
            let word = match (state.now, found) {
                (FluidLevel::Empty, Some(FluidState::Full)) => Some("drained"),
                (FluidLevel::Full, Some(FluidState::Empty)) => Some("filled"),
                _ => None,
            };
            (*id, word)
        });
        let energies = self.energies.iter().map(|(id, state)| {
            let word = match state.now {
                EnergyState::Live => None,
                EnergyState::Isolated => Some("isolated, not proved"),
                EnergyState::Proved => Some("isolated and proved"),
            };
            (*id, word)
        });
        let readings = self.readings.iter().map(|(id, state)| {
            let word = match state.now {
                ReadingState::Measured => "measured",
                ReadingState::Stale => "adjusted, not measured",
            };
            (*id, Some(word))
        });
        let conditions = self.conditions.keys().map(|id| (*id, Some("holds")));
        let things = parts.chain(valves).chain(fluids).chain(energies);
        for (id, word) in things.chain(conditions).chain(readings) {
            all.extend(word.map(|word| (id, word)));
        }
        if self.engine.now == EngineState::Running {
            all.push(("engine", "running"));
        }
        all
    }

    /// Does an action.
    pub(super) fn act(&mut self, machine: &'a Machine, act: &Act<'a>, at: Moment) {
        self.lose_conditions(machine, act);
        let was_unchecked = self.part(act.thing.id()).unchecked.is_some();
        self.account.note(machine, act, at, was_unchecked);
        match (act.verb, act.thing) {
            (verb, Thing::Part(part)) => {
                if verb == Verb::Tighten {
                    self.locked(machine, &part.id, at);
                }
                let carries = part.carries.as_ref();
                let is_dry = carries.is_some_and(|fluid| !self.is_wet(machine, &fluid.value));
                let count = self.account.count();
                let entry = self.parts.entry(part.id.as_str()).or_default();
                let unchecked = entry.unchecked;
                part_act(entry, verb, part, at, count);
                if is_dry && entry.place != PartPlace::Off {
                    // Nothing stands in the joint that could weep.
                    entry.unchecked = entry.unchecked.or(unchecked);
                }
                let is_off = entry.place == PartPlace::Off;
                if verb == Verb::Tighten && !act.is_tightened_fully() && !is_off {
                    entry.place = PartPlace::Loose;
                }
                entry.stage = match verb {
                    Verb::Tighten if is_off => entry.stage,
                    Verb::Tighten => act.stage.unwrap_or(part.stages.len()),
                    Verb::Remove | Verb::Slacken | Verb::Fit | Verb::Renew => 0,
                    _ => entry.stage,
                };
            }
            (Verb::Open, Thing::Valve(valve)) => {
                set(&mut self.valves, &valve.id, ValveState::Open, at);
            }
            (Verb::Close, Thing::Valve(valve)) => {
                set(&mut self.valves, &valve.id, ValveState::Closed, at);
            }
            (Verb::Drain, Thing::Fluid(fluid)) => {
                set(&mut self.fluids, &fluid.id, FluidLevel::Empty, at);
            }
            (Verb::Fill, Thing::Fluid(fluid)) => {
                set(&mut self.fluids, &fluid.id, FluidLevel::Full, at);
            }
            (Verb::Isolate, Thing::Energy(energy)) => {
                set(&mut self.energies, &energy.id, EnergyState::Isolated, at);
            }
            (Verb::Prove, Thing::Energy(energy)) => {
                // What was never isolated isn't made safe by a look at it.
                let state = self.energy(&energy.id).map(|state| state.now);
                if state == Some(EnergyState::Isolated) {
                    set(&mut self.energies, &energy.id, EnergyState::Proved, at);
                }
            }
            (Verb::Restore, Thing::Energy(energy)) => {
                set(&mut self.energies, &energy.id, EnergyState::Live, at);
            }
            (Verb::Confirm, Thing::Condition(condition)) => {
                self.conditions.insert(&condition.id, at);
            }
            (Verb::End, Thing::Condition(condition)) => {
                self.conditions.remove(condition.id.as_str());
            }
            (Verb::Measure, Thing::Reading(reading)) => {
                set(&mut self.readings, &reading.id, ReadingState::Measured, at);
            }
            (Verb::Adjust, Thing::Reading(reading)) => {
                set(&mut self.readings, &reading.id, ReadingState::Stale, at);
            }
            (Verb::Run, _) => self.engine.set(EngineState::Running, at),
            (Verb::Stop, _) => self.engine.set(EngineState::Stopped, at),
            _ => {}
        }
    }
}

/// Whether it takes hands and tools to a part.
fn is_work(verb: Verb) -> bool {
    matches!(
        verb,
        Verb::Remove | Verb::Slacken | Verb::Fit | Verb::Renew | Verb::Tighten
    )
}

fn set<'a, T>(states: &mut BTreeMap<&'a str, Changed<T>>, id: &'a str, now: T, at: Moment) {
    states.insert(
        id,
        Changed {
            now,
            since: Some(at),
        },
    );
}

fn part_act(entry: &mut PartState, verb: Verb, part: &Part, at: Moment, count: u32) {
    let is_fastener = part.is_fastener();
    let place = match verb {
        Verb::Remove => Some(PartPlace::Off),
        // What is off can't be turned.
        Verb::Slacken | Verb::Tighten if entry.place == PartPlace::Off => None,
        Verb::Slacken => Some(PartPlace::Loose),
        // A fastener is started by hand, and is loose until it is tightened.
        Verb::Fit | Verb::Renew if is_fastener => Some(PartPlace::Loose),
        Verb::Fit | Verb::Renew | Verb::Tighten => Some(PartPlace::On),
        _ => None,
    };
    if let Some(place) = place {
        entry.place = place;
        entry.since = Some(at);
        entry.how = Some((verb, count));
    }
    match verb {
        Verb::Note => entry.noted = Some(at),
        Verb::Remove => entry.came_off = Some(count),
        Verb::Fit | Verb::Renew => {
            entry.unchecked = Some(at);
            entry.inspected = None;
            entry.cleaned = None;
        }
        Verb::Inspect => {
            entry.unchecked = None;
            entry.inspected = Some(at);
        }
        Verb::Clean => {
            entry.cleaned = Some(at);
            // Dirt hides the crack.
            entry.inspected = entry.inspected.filter(|_| !part.clean);
        }
        _ => {}
    }
}
