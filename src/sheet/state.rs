//! What is written down at a step, where a sheet may be left, and the state of
//! the machine there.

use super::details::fastener;
use super::writer::Writer;
use crate::job::{Action, JobSection, Thing};
use crate::page::{Blank, Stop};
use crate::prose::{self, Verb};
use crate::quantity::{Rational, Unit};
use crate::rehearsal::{EnergyState, EngineState, FluidLevel, PartPlace, ReadingState, State};
use crate::shop::{FluidState, Part, Sourced, ValveState};
use num_traits::ToPrimitive as _;
use std::cmp::Reverse;

/// A group of steps that is longer is parted, at about this length.
const GROUP: usize = 8;

impl<'a> Writer<'_, 'a> {
    /// What an action has one write down: a place, a reading.
    pub(crate) fn record(&self, action: &Action<'_>) -> Option<Blank> {
        let words = self.desk.words();
        match (action.verb, action.thing) {
            (Verb::Note, Thing::Part(part)) if part.is_linkage() => Some(Blank::Choice {
                label: words.say("sat-in", &[("part", &part.name)]),
                options: part.seats.iter().map(|seat| seat.value.clone()).collect(),
            }),
            (Verb::Note, Thing::Part(part)) => Some(Blank::Words {
                label: part.name.clone(),
            }),
            (Verb::Measure, Thing::Reading(reading)) => {
                let limits = reading.limits.as_ref()?;
                let boxes = self.boxes(reading, action);
                let mend = |text: &Option<_>| text.as_ref().map(|text: &Vec<_>| prose::plain(text));
                Some(self.reading(
                    &reading.name,
                    limits,
                    boxes,
                    [mend(&reading.over), mend(&reading.under)],
                ))
            }
            (Verb::Inspect, Thing::Part(part)) => {
                let limits = part.limits.as_ref()?;
                let boxes = vec![words.get("found").to_owned()];
                Some(self.reading(&part.name, limits, boxes, [None, None]))
            }
            _ => None,
        }
    }

    fn reading(
        &self,
        name: &str,
        limits: &Sourced,
        boxes: Vec<String>,
        mend: [Option<String>; 2],
    ) -> Blank {
        let unit = self.unit(limits);
        let written = limits.spec.value.limits();
        let bound = |value: Option<crate::quantity::Quantity>| {
            Some(plain_decimal(value?.in_unit(unit)?.value()))
        };
        let [over, under] = mend;
        Blank::Reading {
            label: name.to_owned(),
            limits: self.desk.value(limits),
            boxes,
            unit: unit.symbol().to_owned(),
            least: bound(written.lower()),
            most: bound(written.upper()),
            over,
            under,
        }
    }

    /// The unit a reading is written in: the one its limits are printed in first.
    fn unit(&self, limits: &Sourced) -> Unit {
        let written = limits.spec.value.limits();
        let order = self.job.shop.units.units(written.kind());
        let is_listed = order.contains(&written.unit());
        match order.first() {
            Some(first) if is_listed => *first,
            _ => written.unit(),
        }
    }

    /// What is ticked at the bench, where a tick alone says too little: the state that an action brings
    /// about, the bag that a part goes into.
    pub(crate) fn response(&self, action: &Action<'_>) -> Option<Blank> {
        let words = self.desk.words();
        if let Some(key) = action.verb.spec().result {
            return Some(Blank::State {
                label: action.thing.name().to_owned(),
                state: words.get(key).to_owned(),
            });
        }
        match (action.verb, action.thing) {
            // A condition's name says all of it: "engine cold to the hand".
            (Verb::Confirm, Thing::Condition(condition)) => Some(Blank::State {
                label: String::new(),
                state: condition.name.clone(),
            }),
            (Verb::Tighten, Thing::Part(part)) => {
                let at = action.stage.unwrap_or(part.stages.len());
                let torque = part.stages.get(at.checked_sub(1)?)?;
                Some(Blank::State {
                    label: fastener(part),
                    state: self.desk.value(torque).first,
                })
            }
            (Verb::Inspect, Thing::Part(part)) if part.reuse.is_some() || part.limits.is_some() => {
                Some(Blank::Choice {
                    label: part.name.clone(),
                    options: ["use-again", "renew"]
                        .map(|key| words.get(key).to_owned())
                        .to_vec(),
                })
            }
            (Verb::Remove, Thing::Part(part)) if part.is_fastener() || part.count > 1 => {
                Some(Blank::Bag {
                    label: words.counted(&part.name, part.count).into_owned(),
                    count: if part.count == 1 {
                        words.get("piece").to_owned()
                    } else {
                        words.say("pieces", &[("count", &part.count.to_string())])
                    },
                })
            }
            _ => None,
        }
    }

    /// The last step of each group, in order.
    ///
    /// A section's end is a natural stop. A long section is parted where the least is at stake: never
    /// with the engine running if that can be helped, rather not with an energy isolated and not yet
    /// proved, then with as few parts loose as may be.
    pub(crate) fn group_ends(&self) -> Vec<u32> {
        let mut ends = Vec::new();
        for section in &self.job.sections {
            let steps: Vec<u32> = section.steps().map(|step| step.number).collect();
            let holds = holds(section);
            let mut first = 0;
            while first < steps.len() {
                let left = steps.len() - first;
                let pieces = left.div_ceil(GROUP + 1).max(1);
                let even = first + left.div_ceil(pieces) - 1;
                let last = steps.len() - 1;
                // A hold is a stop already.
                let held = (first..=last).find(|at| holds.contains(&steps[*at]));
                let end = if let Some(held) = held.filter(|held| *held <= even) {
                    held
                } else if pieces == 1 {
                    last
                } else {
                    let near = even.saturating_sub(2).max(first)..=(even + 2).min(last);
                    near.min_by_key(|at| (self.stake(steps[*at]), at.abs_diff(even), Reverse(*at)))
                        .unwrap_or(even)
                };
                ends.push(steps[end]);
                first = end + 1;
            }
        }
        ends
    }

    /// How much is at stake when the machine is left after a step.
    fn stake(&self, step: u32) -> (bool, bool, usize) {
        let Some(state) = self.after(step) else {
            return (false, false, 0);
        };
        let is_running = state.engine().now == EngineState::Running;
        let mut energies = state.energies();
        let is_unproved = energies.any(|(_, energy)| energy.now == EnergyState::Isolated);
        let loose = state
            .parts()
            .filter(|(_, part)| part.place == PartPlace::Loose);
        (is_running, is_unproved, loose.count())
    }

    fn after(&self, step: u32) -> Option<&State<'a>> {
        self.states.get(usize::try_from(step).ok()?.checked_sub(1)?)
    }

    /// The stop after a step that ends a group.
    pub(crate) fn stop(&self, ends: &[u32], step: u32) -> Option<Stop> {
        let at = ends.iter().position(|end| *end == step)?;
        let first = if at == 0 { 1 } else { ends[at - 1] + 1 };
        let words = self.desk.words();
        let number = u32::try_from(at + 1).ok()?;
        let state = self.after(step)?;
        let is_running = state.engine().now == EngineState::Running;
        let places = [
            ("number", &*number.to_string()),
            ("count", &*ends.len().to_string()),
            ("steps", &*self.desk.steps_name(first, step)),
        ];
        Some(Stop {
            number,
            title: words.say("group", &places),
            role: self.mechanic(),
            state: self.state_lines(state),
            never: is_running.then(|| words.get("do-not-leave").to_owned()),
        })
    }

    /// All that is not as it was found, for whoever comes back to the machine.
    fn state_lines(&self, state: &State<'_>) -> Vec<String> {
        let words = self.desk.words();
        let machine = self.job.machine;
        let mut lines = Vec::new();
        if state.engine().now == EngineState::Running {
            lines.push(words.get("is-running").to_owned());
        }
        for (key, place) in [
            ("off-list", PartPlace::Off),
            ("loose-list", PartPlace::Loose),
        ] {
            let parts = machine
                .parts
                .values()
                .filter(|part| state.part(part.id).place == place);
            let names: Vec<String> = parts.map(|part| self.counted_part(part)).collect();
            if !names.is_empty() {
                lines.push(words.say(key, &[("parts", &names.join(", "))]));
            }
        }
        let mut say = |thing: &str, key: &str| {
            let places = [("thing", thing), ("state", words.get(key))];
            lines.push(words.say("thing-state", &places));
        };
        for valve in machine.valves.values() {
            match state.valve(valve.id).now {
                now if now == valve.found => {}
                ValveState::Open => say(&valve.name, "is-open"),
                ValveState::Closed => say(&valve.name, "is-closed"),
            }
        }
        for fluid in machine.fluids.values() {
            match (state.fluid(fluid.id).now, fluid.found) {
                (FluidLevel::Empty, FluidState::Full) => say(&fluid.name, "is-drained"),
                (FluidLevel::Full, FluidState::Empty) => say(&fluid.name, "is-filled"),
                _ => {}
            }
        }
        for (energy, state) in state.energies() {
            match state.now {
                EnergyState::Isolated => say(&energy.name, "is-isolated-not-proved"),
                EnergyState::Proved => say(&energy.name, "is-isolated-and-proved"),
                EnergyState::Live => {}
            }
        }
        for (reading, state) in state.readings() {
            if state.now == ReadingState::Stale {
                say(&reading.name, "is-stale");
            }
        }
        if lines.is_empty() {
            lines.push(words.get("as-it-was-found").to_owned());
        }
        lines
    }

    fn counted_part(&self, part: &Part) -> String {
        let name = self.desk.words().counted(&part.name, part.count);
        if part.count > 1 {
            format!("{name} ({})", part.count)
        } else {
            name.into_owned()
        }
    }
}

/// The steps of a section that are holds.
fn holds(section: &JobSection<'_>) -> Vec<u32> {
    let held = section.steps().filter(|step| {
        step.actions
            .iter()
            .any(|action| matches!(action.thing, Thing::Role(_)))
    });
    held.map(|step| step.number).collect()
}

/// A number as a program reads it: digits, and a point where there is a fraction.
fn plain_decimal(value: &Rational) -> String {
    let (top, bottom) = (value.numer().to_f64(), value.denom().to_f64());
    top.zip(bottom)
        .map_or_else(String::new, |(top, bottom)| (top / bottom).to_string())
}
