//! What is recorded at a step, where work may be interrupted, and the machine's state at that
//! point.

use super::details::fastener;
use super::writer::Writer;
use crate::job::{Action, JobSection, Thing};
use crate::page::{Blank, ReadingBounds, Stop};
use crate::prose::{self, Verb};
use crate::quantity::{Quantity, Rational};
use crate::rehearsal::{EnergyState, EngineState, PartPlace, ReadingState, State};
use crate::shop::{FluidState, Part, Sourced, ValveState};
use num_traits::ToPrimitive as _;
use std::cmp::Reverse;

/// The target length of a group. A section with more than one step above this length is split.
const GROUP_LENGTH: usize = 8;

impl<'a> Writer<'_, 'a> {
    /// What an action asks to record: a position or a reading.
    pub(crate) fn record_blank(&self, action: &Action<'_>) -> Option<Blank> {
        let words = self.context.words();
        match (action.verb, action.thing) {
            (Verb::Note, Thing::Part(part)) if part.is_linkage() => Some(Blank::Choice {
                label: words.format("position-found", &[("part", &part.name)]),
                options: part
                    .positions
                    .iter()
                    .map(|position| position.value.clone())
                    .collect(),
                noted: Some(part.key.clone()),
            }),
            (Verb::Note, Thing::Part(part)) => Some(Blank::Words {
                label: part.name.clone(),
                noted: Some(part.key.clone()),
            }),
            (Verb::Measure, Thing::Reading(reading)) => {
                let limits = reading.limits.as_ref()?;
                let boxes = self.boxes(reading, action);
                let remedy =
                    |text: &Option<_>| text.as_ref().map(|text: &Vec<_>| prose::plain(text));
                Some(self.reading(
                    [&reading.key, &reading.name],
                    limits,
                    boxes,
                    [remedy(&reading.over), remedy(&reading.under)],
                ))
            }
            (Verb::Inspect, Thing::Part(part)) => {
                let limits = part.limits.as_ref()?;
                let boxes = vec![words.get("found").to_owned()];
                Some(self.reading([&part.key, &part.name], limits, boxes, [None, None]))
            }
            _ => None,
        }
    }

    fn reading(
        &self,
        [of, name]: [&str; 2],
        limits: &Sourced,
        boxes: Vec<String>,
        remedy: [Option<String>; 2],
    ) -> Blank {
        // The limits that the page prints: in another unit they are rounded inwards.
        let shown = self.job.shop.units.show(&limits.spec.value).first;
        let printed = shown.limits();
        let unit = printed.unit();
        let plain = |value: Option<Quantity>| Some(plain_decimal(value?.value()));
        let [over, under] = remedy;
        Blank::Reading {
            of: of.to_owned(),
            label: name.to_owned(),
            limits: self.context.value(limits),
            boxes,
            unit: unit.symbol().to_owned(),
            bounds: Box::new(ReadingBounds {
                least: plain(printed.lower()),
                most: plain(printed.upper()),
                possible: plain(unit.least()),
                to_thousandths: unit.is_read_to_thousandths(),
            }),
            over,
            under,
        }
    }

    /// What a checklist adds when a plain tick says too little: the state that an action produces,
    /// a decision, or the bag for removed parts.
    pub(crate) fn tick_blank(&self, action: &Action<'_>) -> Option<Blank> {
        let words = self.context.words();
        if let Some(key) = action.verb.spec().result {
            return Some(Blank::State {
                label: action.thing.name().to_owned(),
                state: words.get(key).to_owned(),
            });
        }
        match (action.verb, action.thing) {
            // A condition's name needs no label: "engine cold to the hand".
            (Verb::Confirm, Thing::Condition(condition)) => Some(Blank::State {
                label: String::new(),
                state: condition.name.clone(),
            }),
            (Verb::Tighten, Thing::Part(part)) => {
                let stage = action.stage.unwrap_or(part.stages.len());
                let torque = part.stages.get(stage.checked_sub(1)?)?;
                Some(Blank::State {
                    label: fastener(part),
                    state: self.context.value(torque).first,
                })
            }
            (Verb::Inspect, Thing::Part(part)) if part.reuse.is_some() || part.limits.is_some() => {
                Some(Blank::Choice {
                    label: part.name.clone(),
                    options: ["use-again", "renew"]
                        .map(|key| words.get(key).to_owned())
                        .to_vec(),
                    noted: None,
                })
            }
            (Verb::Remove, Thing::Part(part)) if part.is_fastener() || part.count > 1 => {
                Some(Blank::Bag {
                    label: words.counted(&part.name, part.count).into_owned(),
                    count: if part.count == 1 {
                        words.get("piece").to_owned()
                    } else {
                        words.format("pieces", &[("count", &part.count.to_string())])
                    },
                })
            }
            _ => None,
        }
    }

    /// The number of the last step of each group, in order.
    ///
    /// A section's end ends a group, and so does a hold at or before the point of an equal split.
    /// Otherwise a long section is split within two steps of that point, after the step where an
    /// interruption is least dangerous: first by whether the engine runs, then by whether an energy
    /// is isolated but not proved, then by the number of loose parts.
    pub(crate) fn group_ends(&self) -> Vec<u32> {
        let mut ends = Vec::new();
        for section in &self.job.sections {
            let steps: Vec<u32> = section.steps().map(|step| step.number).collect();
            let holds = holds(section);
            let mut first = 0;
            while first < steps.len() {
                let remaining = steps.len() - first;
                let groups = remaining.div_ceil(GROUP_LENGTH + 1).max(1);
                let equal_end = first + remaining.div_ceil(groups) - 1;
                let last = steps.len() - 1;
                // Work stops at a hold anyway.
                let held = (first..=last).find(|index| holds.contains(&steps[*index]));
                let end = if let Some(held) = held.filter(|held| *held <= equal_end) {
                    held
                } else if groups == 1 {
                    last
                } else {
                    let near = equal_end.saturating_sub(2).max(first)..=(equal_end + 2).min(last);
                    near.min_by_key(|index| {
                        let distance = index.abs_diff(equal_end);
                        (self.stop_risk(steps[*index]), distance, Reverse(*index))
                    })
                    .unwrap_or(equal_end)
                };
                ends.push(steps[end]);
                first = end + 1;
            }
        }
        ends
    }

    /// The risk of leaving the machine after a step, as a sort key: engine running, an energy
    /// isolated but not proved, number of loose parts.
    fn stop_risk(&self, step: u32) -> (bool, bool, usize) {
        let Some(state) = self.state_after(step) else {
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

    fn state_after(&self, step: u32) -> Option<&State<'a>> {
        self.states.get(usize::try_from(step).ok()?.checked_sub(1)?)
    }

    /// The stop after a step, if the step ends a group.
    pub(crate) fn stop(&self, ends: &[u32], step: u32) -> Option<Stop> {
        let index = ends.iter().position(|end| *end == step)?;
        let first = if index == 0 { 1 } else { ends[index - 1] + 1 };
        let words = self.context.words();
        let number = u32::try_from(index + 1).ok()?;
        let state = self.state_after(step)?;
        let is_running = state.engine().now == EngineState::Running;
        let values = [
            ("number", &*number.to_string()),
            ("count", &*ends.len().to_string()),
            ("steps", &*self.context.steps_name(first, step)),
        ];
        Some(Stop {
            number,
            title: words.format("group", &values),
            role: self.mechanic(),
            state: self.state_lines(state),
            never: is_running.then(|| words.get("do-not-leave").to_owned()),
        })
    }

    /// A line for everything that differs from the machine as found, for whoever resumes the work.
    fn state_lines(&self, state: &State<'_>) -> Vec<String> {
        let words = self.context.words();
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
                lines.push(words.format(key, &[("parts", &names.join(", "))]));
            }
        }
        let mut push_state = |thing: &str, key: &str| {
            let values = [("thing", thing), ("state", words.get(key))];
            lines.push(words.format("thing-state", &values));
        };
        for valve in machine.valves.values() {
            match state.valve(valve.id).now {
                now if now == valve.initial => {}
                ValveState::Open => push_state(&valve.name, "is-open"),
                ValveState::Closed => push_state(&valve.name, "is-closed"),
            }
        }
        for control in machine.controls.values() {
            let now = state.control(control.id).now;
            if now != control.initial {
                let values = [
                    ("thing", control.name.as_str()),
                    ("state", control.position_name(now)),
                ];
                lines.push(words.format("thing-state", &values));
            }
        }
        let mut push_state = |thing: &str, key: &str| {
            let values = [("thing", thing), ("state", words.get(key))];
            lines.push(words.format("thing-state", &values));
        };
        for fluid in machine.fluids.values() {
            match (state.fluid(fluid.id).now, fluid.initial) {
                (FluidState::Empty, FluidState::Full) => push_state(&fluid.name, "is-drained"),
                (FluidState::Full, FluidState::Empty) => push_state(&fluid.name, "is-filled"),
                _ => {}
            }
        }
        for (energy, state) in state.energies() {
            match state.now {
                EnergyState::Isolated => push_state(&energy.name, "is-isolated-not-proved"),
                EnergyState::Proved => push_state(&energy.name, "is-isolated-and-proved"),
                EnergyState::Live => {}
            }
        }
        for (reading, state) in state.readings() {
            if state.now == ReadingState::Stale {
                push_state(&reading.name, "is-stale");
            }
        }
        if lines.is_empty() {
            lines.push(words.get("as-it-was-found").to_owned());
        }
        lines
    }

    fn counted_part(&self, part: &Part) -> String {
        let name = self.context.words().counted(&part.name, part.count);
        if part.count > 1 {
            format!("{name} ({})", part.count)
        } else {
            name.into_owned()
        }
    }
}

/// The numbers of a section's steps that have a hold.
fn holds(section: &JobSection<'_>) -> Vec<u32> {
    let held = section.steps().filter(|step| {
        step.actions
            .iter()
            .any(|action| matches!(action.thing, Thing::Role(_)))
    });
    held.map(|step| step.number).collect()
}

/// A decimal number for a program: digits, with a point if there is a fraction.
fn plain_decimal(value: &Rational) -> String {
    let (top, bottom) = (value.numer().to_f64(), value.denom().to_f64());
    top.zip(bottom)
        .map_or_else(String::new, |(top, bottom)| (top / bottom).to_string())
}
