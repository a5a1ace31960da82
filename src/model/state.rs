//! The state of a machine at one moment of a job.

use super::account::Account;
use super::{Action, Moment};
use crate::prose::Verb;
use crate::shop::{
    ConditionId, Control, ControlId, Energy, EnergyId, EnergyKind, EngineNeed, Fluid, FluidId,
    FluidState, Machine, Part, PartId, PerRecord, Reading, ReadingId, RunCondition, Shop, ThingId,
    Valve, ValveId, ValveState,
};

/// A state and the action that caused it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Changed<T> {
    pub(crate) now: T,
    /// `None` if no action has changed the state since the job began.
    pub(crate) since: Option<Moment>,
}

impl<T> Changed<T> {
    fn initial(now: T) -> Changed<T> {
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

/// Whether a part is on the machine.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum PartPlace {
    /// On. A fastener is also tight.
    #[default]
    On,
    /// On, but loose.
    Loose,
    Off,
}

/// The state of a part.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct PartState {
    pub(crate) place: PartPlace,
    /// The action that last changed `place`. `None` if no action has.
    pub(crate) since: Option<Moment>,
    /// The verb of that action, and its index in the job.
    pub(crate) how: Option<(Verb, u32)>,
    /// The index of the action that last took it off.
    pub(crate) removed_at: Option<u32>,
    /// The action that inspected it since it was last put on. Cleaning a part that must be cleaned whenever it is off
    /// resets this to `None`.
    pub(crate) inspected: Option<Moment>,
    /// The index of the action that last put it on, or cleaned it if it must be cleaned whenever it is off. What was
    /// measured before says nothing about it.
    pub(crate) measured_from: Option<u32>,
    /// The action that cleaned it since it was last put on.
    pub(crate) cleaned: Option<Moment>,
    /// The stage that it was tightened to since it was last loosened, from 1. 0 means no stage.
    pub(crate) stage: usize,
    /// The action that noted how it sits.
    pub(crate) noted: Option<Moment>,
    /// The action that put it, or a new part, back on. `None` after the joint was inspected for leaks.
    pub(crate) leak_check_due: Option<Moment>,
}

/// The state of a source of energy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EnergyState {
    Live,
    /// Isolated, but not yet proved to be safe.
    Isolated,
    /// Isolated and proved to be safe.
    Proved,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum EngineState {
    Stopped,
    Running,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ReadingState {
    Measured,
    /// Adjusted, or moved by tightening its lock, since it was last measured.
    Stale,
}

/// The state of a machine at one moment of a job.
#[derive(Clone, Debug)]
pub(crate) struct State<'a> {
    machine: &'a Machine,
    /// `None` for a part that no action has changed.
    parts: PerRecord<Part, Option<PartState>>,
    valves: PerRecord<Valve, Changed<ValveState>>,
    /// The index of each control's position.
    controls: PerRecord<Control, Changed<usize>>,
    fluids: PerRecord<Fluid, Changed<FluidState>>,
    energies: PerRecord<Energy, Changed<EnergyState>>,
    /// The number of energies in each state: for most actions, none is in the state that a rule looks for.
    energy_counts: [usize; 3],
    /// The action that last isolated each energy. Proving the energy does not change it.
    isolated: PerRecord<Energy, Option<Moment>>,
    /// The action since which each condition holds. `None` if it does not hold.
    conditions: PerRecord<RunCondition, Option<Moment>>,
    /// The action that last ended each condition.
    lost: PerRecord<RunCondition, Option<Lost>>,
    /// `None` for a reading that was neither measured nor adjusted.
    readings: PerRecord<Reading, Option<Changed<ReadingState>>>,
    engine: Changed<EngineState>,
    account: Account,
}

/// An action that ended a condition.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lost {
    pub(crate) at: Moment,
    pub(crate) verb: Verb,
    pub(crate) thing: ThingId,
}

/// A change that a job has to undo before its end.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Undone<'a> {
    /// The part is off.
    Off(&'a Part),
    /// The part is on but loose.
    Loose(&'a Part),
    /// The valve is not in the state that the job found it in.
    Valve(&'a Valve),
    /// The control is not in the position that the job found it in.
    Control(&'a Control),
    /// The fluid is drained.
    Drained(&'a Fluid),
    /// The energy is isolated.
    Isolated(&'a Energy),
}

impl<'a> State<'a> {
    /// The state at the start of a job. Parts are on, and valves and fluids are as the machine's file says. Every
    /// energy is live, because the machine may come in hot.
    pub(crate) fn initial(shop: &Shop, machine: &'a Machine) -> State<'a> {
        State {
            machine,
            parts: PerRecord::new(&machine.parts, |_| None),
            valves: PerRecord::new(&machine.valves, |valve| Changed::initial(valve.initial)),
            controls: PerRecord::new(&machine.controls, |control| {
                Changed::initial(control.initial)
            }),
            fluids: PerRecord::new(&machine.fluids, |fluid| Changed::initial(fluid.initial)),
            energies: PerRecord::new(&machine.energies, |_| Changed::initial(EnergyState::Live)),
            energy_counts: [machine.energies.len(), 0, 0],
            isolated: PerRecord::new(&machine.energies, |_| None),
            conditions: PerRecord::new(&machine.conditions, |_| None),
            lost: PerRecord::new(&machine.conditions, |_| None),
            readings: PerRecord::new(&machine.readings, |_| None),
            engine: Changed::initial(EngineState::Stopped),
            account: Account::new(shop, machine),
        }
    }

    #[must_use]
    pub(crate) fn part(&self, part: PartId) -> PartState {
        self.parts[part].unwrap_or_default()
    }

    /// The parts that actions have changed, in the order of the machine's file.
    pub(crate) fn parts(&self) -> impl Iterator<Item = (&'a Part, &PartState)> {
        let parts = self.machine.parts.values().zip(self.parts.values());
        parts.filter_map(|(part, state)| Some((part, state.as_ref()?)))
    }

    #[must_use]
    pub(crate) fn valve(&self, valve: ValveId) -> Changed<ValveState> {
        self.valves[valve]
    }

    /// The index of a control's position.
    #[must_use]
    pub(crate) fn control(&self, control: ControlId) -> Changed<usize> {
        self.controls[control]
    }

    #[must_use]
    pub(crate) fn fluid(&self, fluid: FluidId) -> Changed<FluidState> {
        self.fluids[fluid]
    }

    #[must_use]
    pub(crate) fn energy(&self, energy: EnergyId) -> Changed<EnergyState> {
        self.energies[energy]
    }

    /// All sources of energy, in the order of the machine's file.
    pub(crate) fn energies(&self) -> impl Iterator<Item = (&'a Energy, Changed<EnergyState>)> {
        let energies = self.machine.energies.values();
        energies.zip(self.energies.values().copied())
    }

    /// The sources of energy in a state, in the order of the machine's file.
    pub(crate) fn energies_in(
        &self,
        wanted: EnergyState,
    ) -> impl Iterator<Item = (&'a Energy, Changed<EnergyState>)> {
        let is_any = self.energy_counts[wanted as usize] > 0;
        let states = if is_any {
            self.energies.values().as_slice()
        } else {
            &[]
        };
        let energies = states.iter().zip(self.machine.energies.values());
        let energies = energies.filter(move |(state, _)| state.now == wanted);
        energies.map(|(state, energy)| (energy, *state))
    }

    /// The action since which a condition holds. `None` if it does not hold.
    #[must_use]
    pub(crate) fn condition(&self, condition: ConditionId) -> Option<Moment> {
        self.conditions[condition]
    }

    /// The action that ended a condition that does not hold. `None` if it was not confirmed before.
    #[must_use]
    pub(crate) fn condition_lost(&self, condition: ConditionId) -> Option<Lost> {
        self.lost[condition].filter(|_| self.conditions[condition].is_none())
    }

    /// The readings that were measured or adjusted, in order of their keys.
    pub(crate) fn readings(&self) -> impl Iterator<Item = (&'a Reading, Changed<ReadingState>)> {
        let readings = self.machine.readings.values().zip(self.readings.values());
        let known = readings.filter_map(|(reading, state)| Some((reading, (*state)?)));
        let mut known: Vec<(&Reading, Changed<ReadingState>)> = known.collect();
        known.sort_by_key(|(reading, _)| &reading.key);
        known.into_iter()
    }

    #[must_use]
    pub(crate) fn engine(&self) -> Changed<EngineState> {
        self.engine
    }

    #[must_use]
    pub(crate) fn account(&self) -> &Account {
        &self.account
    }

    /// Whether a fluid is in the parts that carry it, so that an inspection would show a leak.
    #[must_use]
    pub(crate) fn is_wet(&self, fluid: FluidId) -> bool {
        let mut valves = self.machine.valves.values().zip(self.valves.values());
        let is_shut = valves.any(|(valve, state)| {
            let shuts = valve.shuts.as_ref();
            state.now == ValveState::Closed && shuts.is_some_and(|shuts| shuts.value == fluid)
        });
        !is_shut && self.fluid(fluid).now == FluidState::Full
    }

    /// Whether an inspection of a part's joint would show a leak.
    #[must_use]
    pub(crate) fn shows_leak(&self, part: &Part) -> bool {
        let Some(fluid) = part.carries.as_ref().map(|fluid| fluid.value) else {
            return true;
        };
        match self.machine.fluids[fluid].leak_check {
            EngineNeed::Stopped => self.is_wet(fluid),
            EngineNeed::Running => self.has_run_since_refitted(part),
        }
    }

    /// Whether the engine was run after a part was refitted and not yet inspected for leaks.
    #[must_use]
    pub(crate) fn has_run_since_refitted(&self, part: &Part) -> bool {
        let refitted = self.part(part.id).leak_check_due;
        // A stop counts as well, because a run came before it.
        refitted.is_some_and(|refitted| {
            let run = self.engine.since;
            run.is_some_and(|run| run.index > refitted.index)
        })
    }

    /// If a part is loose, marks the adjusted readings that it locks as stale: tightening a locknut moves the
    /// setting.
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

    /// Marks the readings as stale that name the action in `changed-by`, if they were measured or adjusted. A level is
    /// always read after its fluid was filled.
    pub(crate) fn invalidate_readings_changed_by(&mut self, action: &Action<'_>, at: Moment) {
        let machine = self.machine;
        let Some(thing) = action
            .thing
            .id()
            .filter(|_| !machine.changed_readings.is_empty())
        else {
            return;
        };
        for reading in &machine.changed_readings {
            let of = &machine.readings[*reading];
            let is_filled_to_level = of.level.is_some() && action.verb == Verb::Fill;
            if self.readings[*reading].is_none() && !is_filled_to_level {
                continue;
            }
            let mut changed_by = of.changed_by.iter();
            if changed_by
                .any(|event| event.value.thing == thing && includes(action.verb, event.value.verb))
            {
                self.set_reading(*reading, ReadingState::Stale, at);
            }
        }
    }

    /// Ends the conditions that name the action in `lost-by`. `is_work` says whether the action counts as
    /// [`LostBy::Work`](crate::shop::LostBy::Work).
    pub(crate) fn end_conditions(&mut self, action: &Action<'_>, is_work: bool, at: Moment) {
        let Some(thing) = action.thing.id() else {
            return;
        };
        let machine = self.machine;
        let mut end = |id: ConditionId| {
            if self.conditions[id].take().is_some() {
                self.lost[id] = Some(Lost {
                    at,
                    verb: action.verb,
                    thing,
                });
            }
        };
        if let (Verb::End, ThingId::Condition(id)) = (action.verb, thing) {
            end(id);
        }
        if is_work {
            machine.endings.by_work.iter().copied().for_each(&mut end);
        }
        for (verb, id) in machine.endings.by(thing) {
            if includes(action.verb, *verb) {
                end(*id);
            }
        }
    }

    /// The changes that the job has still to undo, each with the index of the action that made it, in this order.
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
            (state.now != valve.initial).then(|| (index(state.since), Undone::Valve(valve)))
        });
        let controls = self.machine.controls.values().filter_map(|control| {
            let state = self.control(control.id);
            (state.now != control.initial).then(|| (index(state.since), Undone::Control(control)))
        });
        let fluids = self.machine.fluids.values().filter_map(|fluid| {
            let state = self.fluid(fluid.id);
            let is_drained = state.now == FluidState::Empty && fluid.initial == FluidState::Full;
            is_drained.then(|| (index(state.since), Undone::Drained(fluid)))
        });
        let energies = self.energies().filter_map(|(energy, state)| {
            // Heat is not restored.
            let is_isolated = state.now != EnergyState::Live && !energy.is_heat();
            is_isolated.then(|| (index(self.isolated[energy.id]), Undone::Isolated(energy)))
        });
        let changes = parts
            .chain(valves)
            .chain(controls)
            .chain(fluids)
            .chain(energies);
        let mut undone: Vec<(u32, Undone<'a>)> = changes.collect();
        undone.sort_by_key(|(index, _)| *index);
        undone
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

    pub(crate) fn set_control(&mut self, control: ControlId, now: usize, at: Moment) {
        self.controls[control].set(now, at);
    }

    pub(crate) fn set_fluid(&mut self, fluid: FluidId, now: FluidState, at: Moment) {
        self.fluids[fluid].set(now, at);
    }

    pub(crate) fn set_energy(&mut self, energy: EnergyId, now: EnergyState, at: Moment) {
        let before = self.energies[energy].now;
        if before == EnergyState::Live {
            self.isolated[energy] = Some(at);
        }
        self.energy_counts[before as usize] -= 1;
        self.energy_counts[now as usize] += 1;
        self.energies[energy].set(now, at);
    }

    pub(crate) fn set_condition(&mut self, condition: ConditionId, since: Option<Moment>) {
        self.conditions[condition] = since;
    }

    pub(crate) fn set_engine(&mut self, now: EngineState, at: Moment) {
        self.engine.set(now, at);
        let machine = self.machine;
        if now != EngineState::Running {
            return;
        }
        for energy in machine.energies.values() {
            let state = self.energies[energy.id].now;
            if energy.is_heat() {
                // What had cooled is hot again after a run.
                self.set_energy(energy.id, EnergyState::Live, at);
            } else if energy.kind == Some(EnergyKind::Pressure) && state == EnergyState::Proved {
                // A run may have built pressure up again, even if what lets it out stayed open.
                self.set_energy(energy.id, EnergyState::Isolated, at);
            }
        }
    }

    pub(crate) fn set_reading(&mut self, reading: ReadingId, now: ReadingState, at: Moment) {
        self.readings[reading] = Some(Changed::at(now, at));
    }

    /// Notes a part as inspected if all its dimensions are measured, and nothing else decides whether it is used again.
    pub(crate) fn inspect_by_measuring(&mut self, part: &Part, at: Moment) {
        let from = self.part(part.id).measured_from;
        let is_measured = |reading: &ReadingId| {
            self.readings[*reading].is_some_and(|state| {
                let index = state.since.map(|moment| moment.index);
                state.now == ReadingState::Measured && index > from
            })
        };
        if part.is_judged_by_dimensions() && part.dimension_readings.iter().all(is_measured) {
            self.part_mut(part.id).inspected = Some(at);
        }
    }
}

/// Whether doing a verb is also doing another one. Renewing a part takes the old one off and puts a new one on.
fn includes(verb: Verb, other: Verb) -> bool {
    verb == other || (verb == Verb::Renew && matches!(other, Verb::Remove | Verb::Fit))
}
