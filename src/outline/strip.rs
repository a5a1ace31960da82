//! Plans how a part comes off, on the model of its machine.
//!
//! Each action is applied to the model as soon as it is planned, so that nothing is taken off twice, and so that the
//! next action sees what is off by then.

use super::draft::Chapter;
use crate::finding::Span;
use crate::model::{Action, Moment, PartPlace, State, Thing};
use crate::prose::Verb;
use crate::shop::{Fluid, FluidState, Machine, Part, PartId, ValveState};
use crate::verbs::apply;
use std::collections::BTreeSet;

/// The most parts that lie one behind the other. It bounds the recursion over them; the deepest machine of the
/// demonstration has nine.
const MOST_DEEP: usize = 100;

/// The most actions of a plan. Each part may also have to be cleaned and inspected, and a procedure has at most 500 steps.
const MOST_ACTIONS: usize = 150;

/// Why a part can't be taken off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Obstacle {
    /// Each part is in front of the one before it or holds it, and the first is the last: keys.
    Circle(Vec<String>),
    /// More parts have to come off than a job can have.
    TooMany,
    /// No procedure can be at the path.
    NoPath,
}

/// An action of the plan, and the chapter that it belongs to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Planned {
    pub(super) chapter: Chapter,
    /// As in a link: `remove:cover`.
    pub(super) action: String,
}

/// How a part comes off.
#[derive(Clone, Debug)]
pub(super) struct Stripped {
    pub(super) planned: Vec<Planned>,
    /// The parts that come off, in order.
    pub(super) removed: Vec<PartId>,
}

#[derive(Clone)]
pub(super) struct Strip<'a> {
    machine: &'a Machine,
    state: State<'a>,
    /// The span that the model stores with each action. Nothing prints it.
    at: Span,
    /// The fasteners and clips that the shop slackens and never takes off.
    slackened: &'a BTreeSet<PartId>,
    /// The parts that are being taken off, outermost last.
    open: Vec<PartId>,
    chapter: Chapter,
    planned: Vec<Planned>,
    removed: Vec<PartId>,
}

impl<'a> Strip<'a> {
    /// `state` is the state of the machine when the work begins.
    pub(super) fn new(
        machine: &'a Machine,
        state: State<'a>,
        slackened: &'a BTreeSet<PartId>,
    ) -> Strip<'a> {
        let at = machine.name.span;
        Strip {
            machine,
            state,
            at,
            slackened,
            open: Vec::new(),
            chapter: Chapter::Strip,
            planned: Vec::new(),
            removed: Vec::new(),
        }
    }

    pub(super) fn done(self) -> Stripped {
        Stripped {
            planned: self.planned,
            removed: self.removed,
        }
    }

    /// Plans to take a part off, after whatever keeps it on.
    ///
    /// # Errors
    ///
    /// If the part has to be off before itself, or if too much has to come off.
    pub(super) fn take_off(&mut self, part: PartId) -> Result<(), Obstacle> {
        if self.state.part(part).place == PartPlace::Off {
            return Ok(());
        }
        let part = self.enter(part)?;
        self.clear(part)?;
        for holder in &part.held_by {
            self.release(part, holder.value)?;
        }
        if let Some(fluid) = &part.carries {
            self.close_line(&self.machine.fluids[fluid.value])?;
        }
        let is_noted = self.state.part(part.id).noted.is_some();
        if part.is_linkage() && part.position.is_none() && !is_noted {
            self.act(Verb::Note, Thing::Part(part));
        }
        self.act(Verb::Remove, Thing::Part(part));
        self.removed.push(part.id);
        if let Some(fluid) = &part.drains {
            let fluid = &self.machine.fluids[fluid.value];
            if self.state.fluid(fluid.id).now == FluidState::Full {
                self.act(Verb::Drain, Thing::Fluid(fluid));
            }
        }
        self.open.pop();
        // A seal is renewed whenever its joint was open.
        for seal in &self.machine.named_by[part.id].seals {
            if !self.open.contains(&seal.value) {
                self.take_off(seal.value)?;
            }
        }
        Ok(())
    }

    /// Remembers that a part is being worked off.
    fn enter(&mut self, part: PartId) -> Result<&'a Part, Obstacle> {
        if let Some(first) = self.open.iter().position(|open| *open == part) {
            let circle = self.open[first..].iter().chain([&part]);
            let keys = circle.map(|part| self.machine.parts[*part].key.clone());
            return Err(Obstacle::Circle(keys.collect()));
        }
        if self.open.len() >= MOST_DEEP || self.planned.len() >= MOST_ACTIONS {
            return Err(Obstacle::TooMany);
        }
        self.open.push(part);
        Ok(&self.machine.parts[part])
    }

    /// Plans to take off what has to be off before anybody puts a tool to a part: what is in front of it, and what is
    /// first off for it or for what it holds.
    fn clear(&mut self, part: &'a Part) -> Result<(), Obstacle> {
        let machine = self.machine;
        let named_by = &machine.named_by[part.id];
        for first in &named_by.off_first {
            self.take_off(first.value)?;
        }
        for held in &named_by.holds {
            for first in &machine.named_by[held.value].off_first {
                let mut held_too = named_by.holds.iter();
                let is_own = first.value == part.id || held_too.any(|h| h.value == first.value);
                if !is_own {
                    self.take_off(first.value)?;
                }
            }
        }
        for front in &part.behind {
            self.take_off(front.value)?;
        }
        Ok(())
    }

    /// Plans to free a part from a fastener or clip.
    fn release(&mut self, part: &Part, holder: PartId) -> Result<(), Obstacle> {
        let fastener = &self.machine.parts[holder];
        let passes_through = fastener.stack.iter().any(|member| member.value == part.id);
        if passes_through || !self.slackened.contains(&holder) {
            return self.take_off(holder);
        }
        if self.state.part(holder).place == PartPlace::On {
            let fastener = self.enter(holder)?;
            self.clear(fastener)?;
            self.act(Verb::Slacken, Thing::Part(fastener));
            self.open.pop();
        }
        Ok(())
    }

    /// Plans to shut the line of a fluid, or to drain the fluid, unless nothing can run out.
    fn close_line(&mut self, fluid: &'a Fluid) -> Result<(), Obstacle> {
        let machine = self.machine;
        if self.state.fluid(fluid.id).now == FluidState::Empty {
            return Ok(());
        }
        let mut valves = machine.valves_of(fluid.id).peekable();
        if let Some(first) = valves.peek().copied() {
            if valves.all(|valve| self.state.valve(valve.id).now == ValveState::Open) {
                self.act_in(Chapter::Drain, Verb::Close, Thing::Valve(first));
            }
            return Ok(());
        }
        let before = std::mem::replace(&mut self.chapter, Chapter::Drain);
        let is_in_work = |part: PartId| self.open.contains(&part);
        let plug = machine
            .drain_plugs(fluid.id)
            .find(|plug| !is_in_work(plug.id));
        let filler = fluid.through.as_ref().map(|part| part.value);
        let opened = plug.map(|plug| plug.id);
        let opened = opened.or(filler.filter(|filler| !is_in_work(*filler)));
        if let Some(opened) = opened {
            // It may lie behind the part whose line is closed. Then the fluid is sucked out.
            let before = self.clone();
            match self.take_off(opened) {
                Err(Obstacle::Circle(_)) => *self = before,
                other => other?,
            }
        }
        if self.state.fluid(fluid.id).now == FluidState::Full {
            self.act(Verb::Drain, Thing::Fluid(fluid));
        }
        self.chapter = before;
        Ok(())
    }

    fn act_in(&mut self, chapter: Chapter, verb: Verb, thing: Thing<'a>) {
        let before = std::mem::replace(&mut self.chapter, chapter);
        self.act(verb, thing);
        self.chapter = before;
    }

    /// Plans an action, and applies it to the model.
    fn act(&mut self, verb: Verb, thing: Thing<'a>) {
        self.planned.push(Planned {
            chapter: self.chapter,
            action: format!("{}:{}", verb.word(), thing.key()),
        });
        let action = Action {
            verb,
            thing,
            span: self.at,
            position: None,
            stage: None,
            is_whole: false,
            amount: None,
            inner: Vec::new(),
        };
        let moment = Moment {
            index: self.state.account().count(),
            step: 0,
            span: self.at,
        };
        apply(&mut self.state, &action, moment);
    }
}
