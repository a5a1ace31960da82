//! The model of a machine.

use super::account::Account;
use super::{Act, Moment, Thing};
use crate::prose::Verb;
use crate::shop::{
    Energy, Fluid, FluidState, Machine, Part, Reading, Records, RunCondition, Valve, ValveState,
    WORK,
};

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

    fn at(now: T, at: Moment) -> Changed<T> {
        Changed {
            now,
            since: Some(at),
        }
    }

    fn set(&mut self, now: T, at: Moment) {
        *self = Changed::at(now, at);
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
///
/// What is known of its things stands in lists, each in the order of the machine's own records.
#[derive(Clone, Debug)]
pub struct State<'a> {
    machine: &'a Machine,
    /// None for a part that nothing was done to.
    parts: Vec<Option<PartState>>,
    valves: Vec<Changed<ValveState>>,
    fluids: Vec<Changed<FluidLevel>>,
    energies: Vec<Changed<EnergyState>>,
    /// Since when each holds; none where it doesn't.
    conditions: Vec<Option<Moment>>,
    /// None for a reading that was neither taken nor changed.
    readings: Vec<Option<Changed<ReadingState>>>,
    engine: Changed<EngineState>,
    account: Account<'a>,
}

impl<'a> State<'a> {
    /// The state that a job finds a machine in: parts on, valves and fluids as the machine's file
    /// says, every energy live: it may come in hot, and a job can't know.
    pub(crate) fn found(machine: &'a Machine) -> State<'a> {
        let level = |fluid: &Fluid| match fluid.found {
            FluidState::Full => FluidLevel::Full,
            FluidState::Empty => FluidLevel::Empty,
        };
        let (valves, fluids) = (machine.valves.values(), machine.fluids.values());
        State {
            machine,
            parts: vec![None; machine.parts.len()],
            valves: valves.map(|valve| Changed::found(valve.found)).collect(),
            fluids: fluids.map(|fluid| Changed::found(level(fluid))).collect(),
            energies: vec![Changed::found(EnergyState::Live); machine.energies.len()],
            conditions: vec![None; machine.conditions.len()],
            readings: vec![None; machine.readings.len()],
            engine: Changed::found(EngineState::Stopped),
            account: Account::default(),
        }
    }

    /// A part's state.
    #[must_use]
    pub fn part(&self, id: &str) -> PartState {
        let state = at(&self.machine.parts, id, &self.parts);
        state.flatten().unwrap_or_default()
    }

    /// The state of a part of the machine.
    #[must_use]
    pub fn of(&self, part: &Part) -> PartState {
        debug_assert!(
            self.machine.parts.get_index_of(&part.id) == Some(part.place),
            "`{}` is another machine's",
            part.id
        );
        let state = self.parts.get(part.place).copied();
        state.flatten().unwrap_or_default()
    }

    /// Parts that something was done to, in the machine's order.
    pub fn parts(&self) -> impl Iterator<Item = (&'a Part, &PartState)> {
        let parts = self.machine.parts.values().zip(&self.parts);
        parts.filter_map(|(part, state)| Some((part, state.as_ref()?)))
    }

    /// A valve's state.
    #[must_use]
    pub fn valve(&self, id: &str) -> Option<Changed<ValveState>> {
        at(&self.machine.valves, id, &self.valves)
    }

    /// A fluid's state.
    #[must_use]
    pub fn fluid(&self, id: &str) -> Option<Changed<FluidLevel>> {
        at(&self.machine.fluids, id, &self.fluids)
    }

    /// An energy's state.
    #[must_use]
    pub fn energy(&self, id: &str) -> Option<Changed<EnergyState>> {
        at(&self.machine.energies, id, &self.energies)
    }

    /// All sources of energy with their states, in the machine's order.
    pub fn energies(&self) -> impl Iterator<Item = (&'a Energy, Changed<EnergyState>)> {
        let energies = self.machine.energies.values();
        energies.zip(self.energies.iter().copied())
    }

    /// Since when a condition holds; none where it doesn't.
    #[must_use]
    pub fn condition(&self, id: &str) -> Option<Moment> {
        at(&self.machine.conditions, id, &self.conditions).flatten()
    }

    /// Readings that were measured or adjusted, by id.
    pub fn readings(&self) -> impl Iterator<Item = (&'a str, Changed<ReadingState>)> {
        let readings = self.machine.readings.keys().zip(&self.readings);
        by_id(readings.filter_map(|(id, state)| Some((id, (*state)?))))
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
        let mut valves = machine.valves.values().zip(&self.valves);
        let is_shut = valves.any(|(valve, state)| {
            let shuts = valve.shuts.as_ref();
            state.now == ValveState::Closed && shuts.is_some_and(|shuts| shuts.value == fluid)
        });
        !is_shut
            && self
                .fluid(fluid)
                .is_some_and(|one| one.now == FluidLevel::Full)
    }

    /// A locknut that is tightened moves what was set.
    fn locked(&mut self, machine: &'a Machine, part: &Part, at: Moment) {
        if self.of(part).place != PartPlace::Loose {
            return;
        }
        for reading in machine.readings.values() {
            let is_locked = reading.locked_by.iter().any(|lock| lock.value == part.id);
            if is_locked && self.account.was_done(Verb::Adjust, &reading.id) {
                self.set_reading(reading, ReadingState::Stale, at);
            }
        }
    }

    /// Gives up the conditions that an action breaks: water shut off is no water on.
    fn lose_conditions(&mut self, act: &Act<'_>) {
        let conditions = self.machine.conditions.values().zip(&mut self.conditions);
        for (condition, since) in conditions.filter(|(_, since)| since.is_some()) {
            let mut lost_by = condition.lost_by.iter();
            let is_lost = lost_by.any(|action| match action.value.strip_prefix(act.verb.word()) {
                Some(rest) => rest.strip_prefix(':') == Some(act.thing.id()),
                None => action.value == WORK && is_work(act.verb),
            });
            if is_lost {
                *since = None;
            }
        }
    }

    /// All that is not as a job finds it: each thing's id, and in a word how it is.
    #[must_use]
    pub fn differences(&self, machine: &'a Machine) -> Vec<(&'a str, &'static str)> {
        let parts = self.parts().map(|(part, state)| {
            let word = match state.place {
                PartPlace::Off => Some("off"),
                PartPlace::Loose if state.stage > 0 => Some("tightened to a stage"),
                PartPlace::Loose => Some("loose"),
                PartPlace::On => None,
            };
            (&part.id, word)
        });
        let valves = machine.valves.values().zip(&self.valves);
        let valves = valves.map(|(valve, state)| {
            let word = match state.now {
                ValveState::Open => "open",
                ValveState::Closed => "closed",
            };
            (&valve.id, (valve.found != state.now).then_some(word))
        });
        let fluids = machine.fluids.values().zip(&self.fluids);
        let fluids = fluids.map(|(fluid, state)| {
            let word = match (state.now, fluid.found) {
                (FluidLevel::Empty, FluidState::Full) => Some("drained"),
                (FluidLevel::Full, FluidState::Empty) => Some("filled"),
                _ => None,
            };
            (&fluid.id, word)
        });
        let energies = machine.energies.keys().zip(&self.energies);
        let energies = energies.map(|(id, state)| {
            let word = match state.now {
                EnergyState::Live => None,
                EnergyState::Isolated => Some("isolated, not proved"),
                EnergyState::Proved => Some("isolated and proved"),
            };
            (id, word)
        });
        let conditions = machine.conditions.keys().zip(&self.conditions);
        let conditions = conditions.map(|(id, since)| (id, since.map(|_| "holds")));
        let readings = self.readings().map(|(id, state)| {
            let word = match state.now {
                ReadingState::Measured => "measured",
                ReadingState::Stale => "adjusted, not measured",
            };
            (id, word)
        });
        let things = differing(parts)
            .chain(differing(valves))
            .chain(differing(fluids))
            .chain(differing(energies))
            .chain(differing(conditions));
        let mut all: Vec<(&str, &str)> = things.chain(readings).collect();
        if self.engine.now == EngineState::Running {
            all.push(("engine", "running"));
        }
        all
    }

    /// Does an action.
    pub(crate) fn act(&mut self, machine: &'a Machine, act: &Act<'a>, at: Moment) {
        self.lose_conditions(act);
        let was_unchecked = match (act.verb, act.thing) {
            (Verb::Inspect, Thing::Part(part)) => self.of(part).unchecked.is_some(),
            _ => false,
        };
        self.account.note(machine, act, at, was_unchecked);
        match (act.verb, act.thing) {
            (verb, Thing::Part(part)) => self.part_act(verb, part, act, at),
            (Verb::Open, Thing::Valve(valve)) => self.set_valve(valve, ValveState::Open, at),
            (Verb::Close, Thing::Valve(valve)) => self.set_valve(valve, ValveState::Closed, at),
            (Verb::Drain, Thing::Fluid(fluid)) => self.set_fluid(fluid, FluidLevel::Empty, at),
            (Verb::Fill, Thing::Fluid(fluid)) => self.set_fluid(fluid, FluidLevel::Full, at),
            (Verb::Isolate, Thing::Energy(energy)) => {
                self.set_energy(energy, EnergyState::Isolated, at);
            }
            (Verb::Prove, Thing::Energy(energy)) => {
                // What was never isolated isn't made safe by a look at it.
                let state = self.energy(&energy.id).map(|state| state.now);
                if state == Some(EnergyState::Isolated) {
                    self.set_energy(energy, EnergyState::Proved, at);
                }
            }
            (Verb::Restore, Thing::Energy(energy)) => {
                self.set_energy(energy, EnergyState::Live, at);
            }
            (Verb::Confirm, Thing::Condition(condition)) => {
                self.set_condition(condition, Some(at));
            }
            (Verb::End, Thing::Condition(condition)) => self.set_condition(condition, None),
            (Verb::Measure, Thing::Reading(reading)) => {
                self.set_reading(reading, ReadingState::Measured, at);
            }
            (Verb::Adjust, Thing::Reading(reading)) => {
                self.set_reading(reading, ReadingState::Stale, at);
            }
            (Verb::Run, _) => self.engine.set(EngineState::Running, at),
            (Verb::Stop, _) => self.engine.set(EngineState::Stopped, at),
            _ => {}
        }
    }

    fn part_act(&mut self, verb: Verb, part: &'a Part, act: &Act<'a>, at: Moment) {
        let machine = self.machine;
        if verb == Verb::Tighten {
            self.locked(machine, part, at);
        }
        let carries = part.carries.as_ref();
        let is_dry = carries.is_some_and(|fluid| !self.is_wet(machine, &fluid.value));
        let count = self.account.count();
        let Some(entry) = self.parts.get_mut(part.place) else {
            return;
        };
        let entry = entry.get_or_insert_default();
        let unchecked = entry.unchecked;
        move_part(entry, verb, part, at, count);
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

    fn set_valve(&mut self, valve: &Valve, now: ValveState, at: Moment) {
        let state = Changed::at(now, at);
        set(&self.machine.valves, &valve.id, &mut self.valves, state);
    }

    fn set_fluid(&mut self, fluid: &Fluid, now: FluidLevel, at: Moment) {
        let state = Changed::at(now, at);
        set(&self.machine.fluids, &fluid.id, &mut self.fluids, state);
    }

    fn set_energy(&mut self, energy: &Energy, now: EnergyState, at: Moment) {
        let state = Changed::at(now, at);
        set(
            &self.machine.energies,
            &energy.id,
            &mut self.energies,
            state,
        );
    }

    fn set_reading(&mut self, reading: &Reading, now: ReadingState, at: Moment) {
        let state = Some(Changed::at(now, at));
        set(
            &self.machine.readings,
            &reading.id,
            &mut self.readings,
            state,
        );
    }

    fn set_condition(&mut self, condition: &RunCondition, since: Option<Moment>) {
        let id = &condition.id;
        set(&self.machine.conditions, id, &mut self.conditions, since);
    }
}

/// Whether it takes hands and tools to a part.
fn is_work(verb: Verb) -> bool {
    matches!(
        verb,
        Verb::Remove | Verb::Slacken | Verb::Fit | Verb::Renew | Verb::Tighten
    )
}

/// What is known of a thing, from a list in the order of its machine's records.
fn at<T, S: Copy>(records: &Records<T>, id: &str, states: &[S]) -> Option<S> {
    states.get(records.get_index_of(id)?).copied()
}

/// Sets what [`at`] finds.
fn set<T, S>(records: &Records<T>, id: &str, states: &mut [S], state: S) {
    let place = records.get_index_of(id);
    if let Some(old) = place.and_then(|place| states.get_mut(place)) {
        *old = state;
    }
}

/// In order of the ids.
fn by_id<'a, T>(
    things: impl Iterator<Item = (&'a String, T)>,
) -> impl Iterator<Item = (&'a str, T)> {
    let mut things: Vec<(&str, T)> = things.map(|(id, thing)| (id.as_str(), thing)).collect();
    things.sort_by_key(|(id, _)| *id);
    things.into_iter()
}

/// Those that there is a word on, in order of the ids.
fn differing<'a>(
    things: impl Iterator<Item = (&'a String, Option<&'static str>)>,
) -> impl Iterator<Item = (&'a str, &'static str)> {
    by_id(things.filter_map(|(id, word)| Some((id, word?))))
}

fn move_part(entry: &mut PartState, verb: Verb, part: &Part, at: Moment, count: u32) {
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
