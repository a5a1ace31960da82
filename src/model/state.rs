//! The model of a machine.

use super::account::Account;
use super::{Action, Moment};
use crate::prose::Verb;
use crate::shop::{
    ConditionId, Energy, EnergyId, Fluid, FluidId, FluidState, LostBy, Machine, MachineAction,
    Part, PartId, PerRecord, Reading, ReadingId, RunCondition, Shop, ThingId, Valve, ValveId,
    ValveState,
};

/// A state and the action that brought it about; none where it is as found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Changed<T> {
    /// The state.
    pub(crate) now: T,
    /// The action.
    pub(crate) since: Option<Moment>,
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
pub(crate) enum PartPlace {
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
pub(crate) struct PartState {
    /// Where it is.
    pub(crate) place: PartPlace,
    /// Which action put it there; none as found.
    pub(crate) since: Option<Moment>,
    /// The verb that put it there, and the index of that action in the job.
    pub(crate) how: Option<(Verb, u32)>,
    /// The index of the action that last took it off.
    pub(crate) came_off: Option<u32>,
    /// Which action inspected it since it was last put on; none again once it is cleaned after that, where
    /// the part is one that is cleaned whenever it is off.
    pub(crate) inspected: Option<Moment>,
    /// Which action cleaned it since it was last put on.
    pub(crate) cleaned: Option<Moment>,
    /// The stage it was tightened to since it was loosened; 0 where it was to none.
    pub(crate) stage: usize,
    /// Which action noted its seat.
    pub(crate) noted: Option<Moment>,
    /// Which action put it back, or a new one, since it was last looked over for leaks.
    pub(crate) unchecked: Option<Moment>,
}

/// Whether a source of energy can hurt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EnergyState {
    /// It can.
    Live,
    /// It was isolated, and nobody has shown that it worked.
    Isolated,
    /// It was isolated and proved.
    Proved,
}

/// Whether a fluid is in the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FluidLevel {
    /// It is.
    Full,
    /// It isn't.
    Empty,
}

/// Whether the engine turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EngineState {
    /// It stands.
    Stopped,
    /// It turns.
    Running,
}

/// What is known of a reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ReadingState {
    /// It was measured.
    Measured,
    /// It was adjusted since.
    Stale,
}

/// The machine's state at one moment of the job.
#[derive(Clone, Debug)]
pub(crate) struct State<'a> {
    machine: &'a Machine,
    /// None for a part that nothing was done to.
    parts: PerRecord<Part, Option<PartState>>,
    valves: PerRecord<Valve, Changed<ValveState>>,
    fluids: PerRecord<Fluid, Changed<FluidLevel>>,
    energies: PerRecord<Energy, Changed<EnergyState>>,
    /// The action that last isolated each; it stays when the energy is proved.
    isolated: PerRecord<Energy, Option<Moment>>,
    /// Since when each holds; none where it doesn't.
    conditions: PerRecord<RunCondition, Option<Moment>>,
    /// None for a reading that was neither taken nor changed.
    readings: PerRecord<Reading, Option<Changed<ReadingState>>>,
    engine: Changed<EngineState>,
    account: Account,
}

/// Something that a job has undone and that has to be brought back.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Undone<'a> {
    /// A part that is off.
    Off(&'a Part),
    /// A part that is on and loose.
    Loose(&'a Part),
    /// A valve that is not as found.
    Valve(&'a Valve),
    /// A fluid that is drained.
    Drained(&'a Fluid),
    /// An energy that is isolated.
    Isolated(&'a Energy),
}

/// A thing that is not as a job finds it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Difference<'a> {
    /// The thing.
    pub(crate) thing: ThingId,
    /// Its key, as the sources name it.
    pub(crate) key: &'a str,
    /// In a word, how it is.
    pub(crate) how: &'static str,
}

impl<'a> State<'a> {
    /// The state that a job finds a machine in: parts on, valves and fluids as the machine's file
    /// says, every energy live: it may come in hot, and a job can't know.
    pub(crate) fn found(shop: &Shop, machine: &'a Machine) -> State<'a> {
        let level = |fluid: &Fluid| match fluid.found {
            FluidState::Full => FluidLevel::Full,
            FluidState::Empty => FluidLevel::Empty,
        };
        State {
            machine,
            parts: PerRecord::new(&machine.parts, |_| None),
            valves: PerRecord::new(&machine.valves, |valve| Changed::found(valve.found)),
            fluids: PerRecord::new(&machine.fluids, |fluid| Changed::found(level(fluid))),
            energies: PerRecord::new(&machine.energies, |_| Changed::found(EnergyState::Live)),
            isolated: PerRecord::new(&machine.energies, |_| None),
            conditions: PerRecord::new(&machine.conditions, |_| None),
            readings: PerRecord::new(&machine.readings, |_| None),
            engine: Changed::found(EngineState::Stopped),
            account: Account::new(shop, machine),
        }
    }

    /// A part's state.
    #[must_use]
    pub(crate) fn part(&self, part: PartId) -> PartState {
        self.parts[part].unwrap_or_default()
    }

    /// Parts that something was done to, in the machine's order.
    pub(crate) fn parts(&self) -> impl Iterator<Item = (&'a Part, &PartState)> {
        let parts = self.machine.parts.values().zip(self.parts.values());
        parts.filter_map(|(part, state)| Some((part, state.as_ref()?)))
    }

    /// A valve's state.
    #[must_use]
    pub(crate) fn valve(&self, valve: ValveId) -> Changed<ValveState> {
        self.valves[valve]
    }

    /// A fluid's state.
    #[must_use]
    pub(crate) fn fluid(&self, fluid: FluidId) -> Changed<FluidLevel> {
        self.fluids[fluid]
    }

    /// An energy's state.
    #[must_use]
    pub(crate) fn energy(&self, energy: EnergyId) -> Changed<EnergyState> {
        self.energies[energy]
    }

    /// All sources of energy with their states, in the machine's order.
    pub(crate) fn energies(&self) -> impl Iterator<Item = (&'a Energy, Changed<EnergyState>)> {
        let energies = self.machine.energies.values();
        energies.zip(self.energies.values().copied())
    }

    /// Since when a condition holds; none where it doesn't.
    #[must_use]
    pub(crate) fn condition(&self, condition: ConditionId) -> Option<Moment> {
        self.conditions[condition]
    }

    /// Readings that were measured or adjusted, in order of their keys.
    pub(crate) fn readings(&self) -> impl Iterator<Item = (&'a Reading, Changed<ReadingState>)> {
        let readings = self.machine.readings.values().zip(self.readings.values());
        let known = readings.filter_map(|(reading, state)| Some((reading, (*state)?)));
        let mut known: Vec<(&Reading, Changed<ReadingState>)> = known.collect();
        known.sort_by_key(|(reading, _)| &reading.key);
        known.into_iter()
    }

    /// The engine's state.
    #[must_use]
    pub(crate) fn engine(&self) -> Changed<EngineState> {
        self.engine
    }

    /// What was done so far, as far as later actions ask for it.
    #[must_use]
    pub(crate) fn account(&self) -> &Account {
        &self.account
    }

    /// Whether a fluid stands in the parts that carry it, so that a look shows a leak.
    #[must_use]
    pub(crate) fn is_wet(&self, fluid: FluidId) -> bool {
        let mut valves = self.machine.valves.values().zip(self.valves.values());
        let is_shut = valves.any(|(valve, state)| {
            let shuts = valve.shuts.as_ref();
            state.now == ValveState::Closed && shuts.is_some_and(|shuts| shuts.value == fluid)
        });
        !is_shut && self.fluid(fluid).now == FluidLevel::Full
    }

    /// Makes stale what was adjusted and is locked by a part: a locknut that is tightened moves the setting.
    pub(crate) fn invalidate_readings_locked_by(&mut self, part: &Part, at: Moment) {
        if self.part(part.id).place != PartPlace::Loose {
            return;
        }
        let machine = self.machine;
        for reading in machine.readings.values() {
            let is_locked = reading.locked_by.iter().any(|lock| lock.value == part.id);
            if is_locked && self.account.was_done(Verb::Adjust, reading.id) {
                self.set_reading(reading.id, ReadingState::Stale, at);
            }
        }
    }

    /// Ends the conditions that an action ends: with the water shut off, the water is no longer on.
    /// `is_work` says whether it takes tools to a part.
    pub(crate) fn end_conditions(&mut self, action: &Action<'_>, is_work: bool) {
        let Some(thing) = action.thing.id() else {
            return;
        };
        let done = LostBy::Action(MachineAction {
            verb: action.verb,
            thing,
        });
        let conditions = self.machine.conditions.values();
        for (condition, since) in conditions.zip(self.conditions.values_mut()) {
            if since.is_none() {
                continue;
            }
            let mut lost_by = condition.lost_by.iter();
            if lost_by.any(|by| by.value == done || (by.value == LostBy::Work && is_work)) {
                *since = None;
            }
        }
    }

    /// All that a job has undone and not brought back, in the order in which it was undone, each with the
    /// index of the action that undid it.
    pub(crate) fn undone(&self) -> Vec<(u32, Undone<'a>)> {
        let index = |moment: Option<Moment>| moment.map_or(0, |moment| moment.index);
        let parts = self.parts().filter_map(|(part, state)| {
            let undone = match state.place {
                PartPlace::On => return None,
                PartPlace::Loose => Undone::Loose(part),
                PartPlace::Off => Undone::Off(part),
            };
            Some((index(state.since), undone))
        });
        let valves = self.machine.valves.values().filter_map(|valve| {
            let state = self.valve(valve.id);
            (state.now != valve.found).then(|| (index(state.since), Undone::Valve(valve)))
        });
        let fluids = self.machine.fluids.values().filter_map(|fluid| {
            let state = self.fluid(fluid.id);
            let is_drained = state.now == FluidLevel::Empty && fluid.found == FluidState::Full;
            is_drained.then(|| (index(state.since), Undone::Drained(fluid)))
        });
        let energies = self.energies().filter_map(|(energy, state)| {
            let is_isolated = state.now != EnergyState::Live;
            is_isolated.then(|| (index(self.isolated[energy.id]), Undone::Isolated(energy)))
        });
        let all = parts.chain(valves).chain(fluids).chain(energies);
        let mut undone: Vec<(u32, Undone<'a>)> = all.collect();
        undone.sort_by_key(|(index, _)| *index);
        undone
    }

    /// All that is not as a job finds it, each kind of thing in order of the keys.
    #[must_use]
    pub(crate) fn differences(&self) -> Vec<Difference<'a>> {
        let machine = self.machine;
        let mut all = Vec::new();
        let parts = self.parts().filter_map(|(part, state)| {
            let how = match state.place {
                PartPlace::Off => "off",
                PartPlace::Loose if state.stage > 0 => "tightened to a stage",
                PartPlace::Loose => "loose",
                PartPlace::On => return None,
            };
            Some((ThingId::Part(part.id), part.key.as_str(), how))
        });
        put(&mut all, parts);
        let valves = machine.valves.values().filter_map(|valve| {
            let now = self.valve(valve.id).now;
            let how = match now {
                ValveState::Open => "open",
                ValveState::Closed => "closed",
            };
            (valve.found != now).then_some((ThingId::Valve(valve.id), valve.key.as_str(), how))
        });
        put(&mut all, valves);
        let fluids = machine.fluids.values().filter_map(|fluid| {
            let how = match (self.fluid(fluid.id).now, fluid.found) {
                (FluidLevel::Empty, FluidState::Full) => "drained",
                (FluidLevel::Full, FluidState::Empty) => "filled",
                _ => return None,
            };
            Some((ThingId::Fluid(fluid.id), fluid.key.as_str(), how))
        });
        put(&mut all, fluids);
        let energies = self.energies().filter_map(|(energy, state)| {
            let how = match state.now {
                EnergyState::Live => return None,
                EnergyState::Isolated => "isolated, not proved",
                EnergyState::Proved => "isolated and proved",
            };
            Some((ThingId::Energy(energy.id), energy.key.as_str(), how))
        });
        put(&mut all, energies);
        let conditions = machine.conditions.values().filter_map(|condition| {
            let (id, key) = (condition.id, condition.key.as_str());
            self.condition(id)
                .map(|_| (ThingId::Condition(id), key, "holds"))
        });
        put(&mut all, conditions);
        let readings = self.readings().map(|(reading, state)| {
            let how = match state.now {
                ReadingState::Measured => "measured",
                ReadingState::Stale => "adjusted, not measured",
            };
            (ThingId::Reading(reading.id), reading.key.as_str(), how)
        });
        put(&mut all, readings);
        if self.engine.now == EngineState::Running {
            put(&mut all, [(ThingId::Engine, "engine", "running")]);
        }
        all
    }

    pub(crate) fn machine(&self) -> &'a Machine {
        self.machine
    }

    pub(crate) fn account_mut(&mut self) -> &mut Account {
        &mut self.account
    }

    pub(crate) fn part_mut(&mut self, part: PartId) -> &mut PartState {
        self.parts[part].get_or_insert_default()
    }

    pub(crate) fn set_valve(&mut self, valve: ValveId, now: ValveState, at: Moment) {
        self.valves[valve].set(now, at);
    }

    pub(crate) fn set_fluid(&mut self, fluid: FluidId, now: FluidLevel, at: Moment) {
        self.fluids[fluid].set(now, at);
    }

    pub(crate) fn set_energy(&mut self, energy: EnergyId, now: EnergyState, at: Moment) {
        if self.energies[energy].now == EnergyState::Live {
            self.isolated[energy] = Some(at);
        }
        self.energies[energy].set(now, at);
    }

    pub(crate) fn set_condition(&mut self, condition: ConditionId, since: Option<Moment>) {
        self.conditions[condition] = since;
    }

    pub(crate) fn set_engine(&mut self, now: EngineState, at: Moment) {
        self.engine.set(now, at);
    }

    pub(crate) fn set_reading(&mut self, reading: ReadingId, now: ReadingState, at: Moment) {
        self.readings[reading] = Some(Changed::at(now, at));
    }
}

/// Adds things to a list of differences, in order of their keys.
fn put<'a>(
    all: &mut Vec<Difference<'a>>,
    things: impl IntoIterator<Item = (ThingId, &'a str, &'static str)>,
) {
    let first = all.len();
    let things = things.into_iter();
    all.extend(things.map(|(thing, key, how)| Difference { thing, key, how }));
    all[first..].sort_by_key(|difference| difference.key);
}
