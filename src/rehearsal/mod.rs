//! A job is rehearsed on a model of its machine.
//!
//! Comes in: a [`Job`]. Goes out: its [`Rehearsal`], and to whoever watches each
//! action as a [`Scene`]: the machine's state just before it, with the action
//! that last changed each thing. It judges nothing: `rules` watch, and say what
//! would go wrong.

use crate::job::{Action, Job, JobName, JobStep, Thing};
pub(crate) use crate::model::{
    Changed, EnergyState, EngineState, FluidLevel, Moment, PartPlace, PartState, ReadingState,
    State,
};
use crate::prose::Verb;
use crate::shop::{Machine, Part, PartId, Shop};
use crate::verbs::apply;
use std::ops::Range;

/// An action about to be done.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scene<'r, 'a> {
    /// What the job is called.
    pub(crate) job: JobName<'a>,
    /// The shop.
    pub(crate) shop: &'a Shop,
    /// The machine.
    pub(crate) machine: &'a Machine,
    /// The step it is part of.
    pub(crate) step: &'r JobStep<'a>,
    /// The action.
    pub(crate) action: &'r Action<'a>,
    /// When it is done.
    pub(crate) at: Moment,
    /// The machine just before it.
    pub(crate) before: &'r State<'a>,
}

/// Something done to a part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Move<'a> {
    /// What was done.
    pub(crate) verb: Verb,
    /// To which part.
    pub(crate) part: &'a Part,
    /// When.
    pub(crate) at: Moment,
}

/// What happened when the job was rehearsed.
#[derive(Clone, Debug)]
pub(crate) struct Rehearsal<'a> {
    /// Everything done to parts, in order.
    pub(crate) moves: Vec<Move<'a>>,
    /// The state the job ends in.
    pub(crate) end: State<'a>,
}

impl<'a> Rehearsal<'a> {
    /// Moves of some kinds on one part, in order.
    pub(crate) fn moves_of<'r>(
        &'r self,
        part: PartId,
        verbs: &'r [Verb],
    ) -> impl Iterator<Item = &'r Move<'a>> + 'r {
        self.moves
            .iter()
            .filter(move |one| one.part.id == part && verbs.contains(&one.verb))
    }
}

/// Rehearses a job, showing each action to `watch` before it is done.
pub(crate) fn rehearse<'a>(job: &Job<'a>, watch: impl FnMut(&Scene<'_, 'a>)) -> Rehearsal<'a> {
    rehearse_from(job, 0..job.sections.len(), None, watch)
}

/// Rehearses some sections of a job after what was rehearsed `before` them; nothing, where they are
/// the first.
pub(crate) fn rehearse_from<'a>(
    job: &Job<'a>,
    sections: Range<usize>,
    before: Option<&Rehearsal<'a>>,
    mut watch: impl FnMut(&Scene<'_, 'a>),
) -> Rehearsal<'a> {
    let mut state = match before {
        Some(before) => before.end.clone(),
        None => State::found(job.shop, job.machine),
    };
    let steps = || {
        let sections = job.sections[sections.clone()].iter();
        sections.flat_map(|section| section.steps())
    };
    let mut moves = before.map_or(&[][..], |before| &before.moves).to_vec();
    moves.reserve(steps().map(|step| step.actions.len()).sum());
    for step in steps() {
        for action in step.all_actions() {
            let at = Moment {
                index: state.account().count(),
                step: step.number,
                span: action.span,
            };
            watch(&Scene {
                job: job.name(),
                shop: job.shop,
                machine: job.machine,
                step,
                action,
                at,
                before: &state,
            });
            if let Thing::Part(part) = action.thing {
                moves.push(Move {
                    verb: action.verb,
                    part,
                    at,
                });
            }
            apply(&mut state, action, at);
        }
    }
    Rehearsal { moves, end: state }
}

/// The state after each step of a job, in order of the steps.
#[must_use]
pub(crate) fn states<'a>(job: &Job<'a>) -> Vec<State<'a>> {
    let mut state = State::found(job.shop, job.machine);
    let mut states = Vec::new();
    for step in job.steps() {
        for action in step.all_actions() {
            let at = Moment {
                index: state.account().count(),
                step: step.number,
                span: action.span,
            };
            apply(&mut state, action, at);
        }
        states.push(state.clone());
    }
    states
}
