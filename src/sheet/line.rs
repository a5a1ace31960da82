//! The drawings of what a fluid flows through.

use super::writer::Writer;
use crate::drawing::{Line, LinePart, line};
use crate::job::{self, Thing};
use crate::page::Drawing;
use crate::prose::Verb;
use crate::rehearsal::{self, State};
use crate::shop::{Fluid, FluidId, FluidState, ValveState};
use std::borrow::Cow;

/// Shorter lines need no drawing.
const LEAST_PARTS: usize = 3;

impl<'a> Writer<'_, 'a> {
    /// The line of the fluid whose valve a step moves, or that it drains, with the state of each valve before the step.
    pub(super) fn line(&self, step: &job::JobStep<'_>) -> Option<Drawing> {
        let mut fluids = step.actions.iter().filter_map(|action| {
            let fluid = match (action.verb, action.thing) {
                (Verb::Open | Verb::Close, Thing::Valve(valve)) => valve.shuts.as_ref()?.value,
                (Verb::Drain, Thing::Fluid(fluid)) => fluid.id,
                _ => return None,
            };
            Some(fluid)
        });
        self.line_of(fluids.next()?, step)
    }

    fn line_of(&self, id: FluidId, step: &job::JobStep<'_>) -> Option<Drawing> {
        let (machine, words) = (self.job.machine, self.context.words());
        let state = self.state_before(step.number)?;
        let fluid: &Fluid = machine.fluids.values().find(|fluid| fluid.id == id)?;
        let is_full = state.fluid(id).now == FluidState::Full;
        let mut parts = vec![(LinePart::Tank { is_full }, fluid.name.clone(), None)];
        let valves = machine.valves.values();
        for valve in valves.filter(|valve| is_of(valve.shuts.as_ref().map(|fluid| fluid.value), id))
        {
            let is_open = state.valve(valve.id).now == ValveState::Open;
            let key = if is_open { "is-open" } else { "is-closed" };
            let state = Some(words.get(key).to_owned());
            parts.push((LinePart::Valve { is_open }, valve.name.clone(), state));
        }
        for part in machine.parts.values() {
            if is_of(part.carries.as_ref().map(|fluid| fluid.value), id) {
                parts.push((LinePart::Part, part.name.clone(), None));
            }
        }
        for part in machine.parts.values() {
            if is_of(part.drains.as_ref().map(|fluid| fluid.value), id) {
                parts.push((LinePart::Drain, part.name.clone(), None));
            }
        }
        if parts.len() < LEAST_PARTS {
            return None;
        }
        let names = parts.iter().map(|(_, name, state)| match state {
            Some(state) => format!("{name} ({state})"),
            None => name.clone(),
        });
        let names: Vec<String> = names.collect();
        Some(line(&Line {
            parts: &parts,
            alt: &words.format("line-alt", &[("parts", &names.join(", "))]),
        }))
    }

    /// The machine's state before a step.
    pub(super) fn state_before(&self, step: u32) -> Option<Cow<'_, State<'a>>> {
        let index = usize::try_from(step).ok()?.checked_sub(1)?;
        match index.checked_sub(1) {
            Some(before) => self.states.get(before).map(Cow::Borrowed),
            None => Some(Cow::Owned(rehearsal::start(self.job))),
        }
    }
}

fn is_of(named: Option<FluidId>, fluid: FluidId) -> bool {
    named == Some(fluid)
}
