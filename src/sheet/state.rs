//! What is recorded at a step, where work may be interrupted, and the machine's state at that
//! point.

use super::writer::Writer;
use crate::job::{Action, JobSection, Thing};
use crate::page::{Blank, Block, Cell, ReadingBounds, Stop, Topic};
use crate::prose::{self, Verb};
use crate::quantity::{Quantity, Rational};
use crate::rehearsal::{EnergyState, EngineState, PartPlace, ReadingState, State};
use crate::shop::{FluidState, LevelMarks, Part, Sourced, ValveState, capitalised};
use crate::words::Words;
use crate::words::marks::plain;
use num_traits::ToPrimitive as _;
use std::cmp::Reverse;

/// The most letters of a machine's state in the line of a stop.
const BRIEF_LENGTH: usize = 66;

/// The least length of a group that a section's end ends, and the most of two that are joined.
const SHORT_GROUP: usize = 6;
const LONG_GROUP: usize = 16;

/// The target length of a group. A section with more than one step above this length is split.
const GROUP_LENGTH: usize = 11;

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
                decides: None,
            }),
            (Verb::Note, Thing::Part(part)) => Some(Blank::Words {
                label: part.name.clone(),
                noted: Some(part.key.clone()),
            }),
            // A dimension is in the table of its part.
            (Verb::Measure, Thing::Reading(reading)) if reading.dimension.is_none() => {
                let remedy =
                    |text: &Option<_>| text.as_ref().map(|text: &Vec<_>| prose::plain(text));
                if let Some(marks) = &reading.level {
                    return Some(Blank::Level {
                        of: reading.key.clone(),
                        label: reading.name.clone(),
                        limits: self.context.limits(reading)?,
                        options: level_options(words, marks),
                        over: remedy(&reading.over),
                        under: remedy(&reading.under),
                    });
                }
                let limits = reading.limits.as_ref()?;
                let boxes = self.boxes(reading, action);
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
        let [over, under] = remedy;
        let (unit, bounds) = self.bounds(limits);
        Blank::Reading {
            of: of.to_owned(),
            label: name.to_owned(),
            limits: self.context.value(limits),
            boxes,
            unit,
            bounds: Box::new(bounds),
            over,
            under,
        }
    }

    /// The unit in which a value is written down, and what it is compared with.
    pub(crate) fn bounds(&self, limits: &Sourced) -> (String, ReadingBounds) {
        // The limits that the page prints: in another unit they are rounded inwards.
        let shown = self.job.shop.units.show(&limits.spec.value).first;
        let printed = shown.limits();
        let unit = printed.unit();
        let plain = |value: Option<Quantity>| Some(plain_decimal(value?.value()));
        let bounds = ReadingBounds {
            least: plain(printed.lower()),
            most: plain(printed.upper()),
            possible: plain(unit.least()),
            to_thousandths: unit.is_read_to_thousandths(),
        };
        (unit.symbol().to_owned(), bounds)
    }

    /// What a checklist asks for in addition: a decision, or the bag for removed parts.
    pub(crate) fn bench_blank(&self, action: &Action<'_>) -> Option<Blank> {
        let words = self.context.words();
        match (action.verb, action.thing) {
            (Verb::Inspect, Thing::Part(part)) if part.reuse.is_some() || part.limits.is_some() => {
                Some(Blank::Choice {
                    label: part.name.clone(),
                    options: ["use-again", "renew"]
                        .map(|key| words.get(key).to_owned())
                        .to_vec(),
                    noted: None,
                    decides: Some(part.key.clone()),
                })
            }
            (Verb::Wait, Thing::Time(time)) => Some(Blank::Wait {
                label: words.get("wait-until").to_owned(),
                seconds: time.seconds(),
            }),
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
    ///
    /// A short group is joined to the next, so that nobody signs for two steps.
    pub(crate) fn group_ends(&self) -> Vec<u32> {
        let mut ends: Vec<u32> = Vec::new();
        // The first step of the last group, if its end may be moved to the next section.
        let mut short: Option<u32> = None;
        for section in &self.job.sections {
            let steps: Vec<u32> = section.steps().map(|step| step.number).collect();
            let holds = holds(section);
            // An inspection is done and signed on days of its own.
            if section.is_inspection {
                short = None;
            }
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
                let starts_at = short.take().unwrap_or(steps[first]);
                let length = |from: u32| usize::try_from(steps[end] + 1 - from).unwrap_or(0);
                let from = if length(starts_at) <= LONG_GROUP {
                    starts_at
                } else {
                    steps[first]
                };
                if from < steps[first] {
                    ends.pop();
                }
                ends.push(steps[end]);
                let is_held = holds.contains(&steps[end]);
                short = (length(from) < SHORT_GROUP && !is_held).then_some(from);
                first = end + 1;
            }
            if section.is_inspection {
                short = None;
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

    /// The stop after a step, if the step ends a group. The job's end has none: the sign-off follows it.
    pub(crate) fn stop(&self, ends: &[u32], step: u32) -> Option<Stop> {
        let index = ends.iter().position(|end| *end == step)?;
        if index + 1 == ends.len() {
            return None;
        }
        let state = self.state_after(step)?;
        let is_running = state.engine().now == EngineState::Running;
        let words = self.context.words();
        Some(Stop {
            number: u32::try_from(index + 1).ok()?,
            title: self.group_name(ends, index),
            role: self.mechanic(),
            state: self.state_in_brief(state),
            never: is_running.then(|| words.get("do-not-leave").to_owned()),
        })
    }

    /// "Group 2 of 5: steps 4 to 9".
    fn group_name(&self, ends: &[u32], index: usize) -> String {
        let first = if index == 0 { 1 } else { ends[index - 1] + 1 };
        let values = [
            ("number", &*(index + 1).to_string()),
            ("count", &*ends.len().to_string()),
            ("steps", &*self.context.steps_name(first, ends[index])),
        ];
        self.context.words().format("group", &values)
    }

    /// The table of the machine's state at each stop, in full, for whoever takes over the work.
    pub(crate) fn states_at_stops(&self) -> Option<Block> {
        let ends = self.group_ends();
        let stops = ends.len().saturating_sub(1);
        let rows = ends[..stops].iter().filter_map(|end| {
            let state = self.state_after(*end)?;
            Some(vec![
                Cell::name(self.step_name(*end)),
                Cell::text(capitalised(&self.state_in_full(state))),
            ])
        });
        let columns = [("stop-after", 2), ("state-here", 15)];
        self.context
            .table_section(Topic::States, &columns, rows.collect())
    }

    /// The machine's state in one line, for a stop: what matters most to whoever finds the machine, as far as it fits.
    /// The shop sheet has the rest.
    fn state_in_brief(&self, state: &State<'_>) -> String {
        let words = self.context.words();
        let machine = self.job.machine;
        // That the engine runs is said by the line itself: nobody may leave the machine there.
        let mut lines = Vec::new();
        let is_open = |part: &Part, fluid| {
            let carried = part.carries.as_ref().map(|carried| carried.value);
            carried == Some(fluid) && state.part(part.id).place != PartPlace::On
        };
        for fluid in machine.fluids.values() {
            if machine.parts.values().any(|part| is_open(part, fluid.id)) {
                lines.push(words.format("path-open", &[("fluid", &fluid.name)]));
            }
        }
        for (key, wanted) in [
            ("is-isolated-not-proved", EnergyState::Isolated),
            ("is-isolated-and-proved", EnergyState::Proved),
        ] {
            let energies = state.energies().filter(|(_, state)| state.now == wanted);
            let names: Vec<String> = energies.map(|(energy, _)| energy.name.clone()).collect();
            let thing = match names.as_slice() {
                [] => continue,
                [name] => name.clone(),
                names => words.format("energy-count", &[("count", &names.len().to_string())]),
            };
            lines.push(self.thing_state(&thing, words.get(key)));
        }
        for (key, count_key, place) in [
            ("loose-list", "parts-loose", PartPlace::Loose),
            ("off-list", "parts-off", PartPlace::Off),
        ] {
            let names = self.parts_in(state, place);
            match names.as_slice() {
                [] => {}
                [name] => lines.push(words.format(key, &[("parts", name)])),
                names => {
                    lines.push(words.format(count_key, &[("count", &names.len().to_string())]));
                }
            }
        }
        lines.extend(self.flow_lines(state));
        let mut brief = String::new();
        for line in &lines {
            let separator = if brief.is_empty() { "" } else { "; " };
            let length = plain(&brief).chars().count() + plain(line).chars().count();
            if brief.is_empty() || length + separator.len() <= BRIEF_LENGTH {
                brief.push_str(separator);
                brief.push_str(line);
            }
        }
        if brief.is_empty() && state.engine().now == EngineState::Stopped {
            words.get("as-it-was-found").clone_into(&mut brief);
        }
        brief
    }

    /// Everything that differs from the machine as found, for whoever resumes the work.
    pub(super) fn state_in_full(&self, state: &State<'_>) -> String {
        let words = self.context.words();
        let mut lines = Vec::new();
        if state.engine().now == EngineState::Running {
            lines.push(words.get("is-running").to_owned());
        }
        for (key, place) in [
            ("off-list", PartPlace::Off),
            ("loose-list", PartPlace::Loose),
        ] {
            let names = self.parts_in(state, place);
            if !names.is_empty() {
                lines.push(words.format(key, &[("parts", &names.join(", "))]));
            }
        }
        lines.extend(self.flow_lines(state));
        for (energy, state) in state.energies() {
            let key = match state.now {
                EnergyState::Isolated => "is-isolated-not-proved",
                EnergyState::Proved => "is-isolated-and-proved",
                EnergyState::Live => continue,
            };
            lines.push(self.thing_state(&energy.name, words.get(key)));
        }
        for (reading, state) in state.readings() {
            if state.now == ReadingState::Stale {
                lines.push(self.thing_state(&reading.name, words.get("is-stale")));
            }
        }
        self.or_as_found(&lines)
    }

    /// The names of the parts in a place, with their counts.
    fn parts_in(&self, state: &State<'_>, place: PartPlace) -> Vec<String> {
        let parts = self.job.machine.parts.values();
        let parts = parts.filter(|part| state.part(part.id).place == place);
        parts.map(|part| self.counted_part(part)).collect()
    }

    /// What a job has changed about valves, controls and fluids.
    fn flow_lines(&self, state: &State<'_>) -> Vec<String> {
        let words = self.context.words();
        let machine = self.job.machine;
        let mut lines = Vec::new();
        for valve in machine.valves.values() {
            let key = match state.valve(valve.id).now {
                now if now == valve.initial => continue,
                ValveState::Open => "is-open",
                ValveState::Closed => "is-closed",
            };
            lines.push(self.thing_state(&valve.name, words.get(key)));
        }
        for control in machine.controls.values() {
            let now = state.control(control.id).now;
            if now != control.initial {
                lines.push(self.thing_state(&control.name, control.position_name(now)));
            }
        }
        for fluid in machine.fluids.values() {
            let key = match (state.fluid(fluid.id).now, fluid.initial) {
                (FluidState::Empty, FluidState::Full) => "is-drained",
                (FluidState::Full, FluidState::Empty) => "is-filled",
                _ => continue,
            };
            lines.push(self.thing_state(&fluid.name, words.get(key)));
        }
        lines
    }

    fn thing_state(&self, thing: &str, state: &str) -> String {
        let values = [("thing", thing), ("state", state)];
        self.context.words().format("thing-state", &values)
    }

    /// The lines of a state in one.
    fn or_as_found(&self, lines: &[String]) -> String {
        if lines.is_empty() {
            return self.context.words().get("as-it-was-found").to_owned();
        }
        lines.join("; ")
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

/// Where a level can be: below, between and above its marks.
fn level_options(words: &Words, marks: &LevelMarks) -> Vec<String> {
    let values = [("lower", marks.lower.as_str()), ("upper", &marks.upper)];
    vec![
        words.format("level-below", &values[..1]),
        words.format("level-between", &values),
        words.format("level-above", &values[1..]),
    ]
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
