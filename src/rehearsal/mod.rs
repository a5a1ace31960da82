//! Rehearses a job on the model of its machine.
//!
//! In: a [`Job`]. Out: its [`Rehearsal`]. A callback gets each action as a [`Scene`], with the machine's state
//! just before the action. This module never reports findings: the callbacks in `rules` do.

mod outcomes;

use crate::job::{Action, Job, JobName, JobStep, Thing};
pub(crate) use crate::model::{
    Changed, EnergyState, EngineState, Moment, PartPlace, PartState, ReadingState, State,
};
use crate::prose::Verb;
use crate::shop::{Machine, Part, PartId, Shop};
use crate::verbs::apply;
pub(crate) use outcomes::Course;
use std::ops::Range;

/// An action that is about to be applied, with its context.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scene<'r, 'a> {
    pub(crate) job: JobName<'a>,
    pub(crate) shop: &'a Shop,
    pub(crate) machine: &'a Machine,
    pub(crate) step: &'r JobStep<'a>,
    pub(crate) action: &'r Action<'a>,
    pub(crate) moment: Moment,
    /// The state of the machine just before the action.
    pub(crate) before: &'r State<'a>,
}

/// An action on a part.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Move<'a> {
    pub(crate) verb: Verb,
    pub(crate) part: &'a Part,
    pub(crate) moment: Moment,
}

/// The result of rehearsing a job.
#[derive(Clone, Debug)]
pub(crate) struct Rehearsal<'a> {
    /// The actions on parts, in order. Those of what was done before the job come first.
    pub(crate) moves: Vec<Move<'a>>,
    /// The number of actions that were done before the job, on another sheet.
    pub(crate) start: u32,
    /// The state of the machine after the last action.
    pub(crate) end: State<'a>,
}

impl<'a> Rehearsal<'a> {
    /// The moves of a part with any of these verbs, in order.
    pub(crate) fn moves_of<'r>(
        &'r self,
        part: PartId,
        verbs: &'r [Verb],
    ) -> impl Iterator<Item = &'r Move<'a>> + 'r {
        self.moves
            .iter()
            .filter(move |action| action.part.id == part && verbs.contains(&action.verb))
    }
}

/// Rehearses a job, in the course in which nothing is wrong. `watch` is called with each action before it is applied.
pub(crate) fn rehearse<'a>(job: &Job<'a>, watch: impl FnMut(&Scene<'_, 'a>)) -> Rehearsal<'a> {
    rehearse_from(job, 0..job.sections.len(), None, watch)
}

/// Rehearses a job in one of its courses.
pub(crate) fn rehearse_course<'a>(
    job: &Job<'a>,
    course: &Course<'a>,
    watch: impl FnMut(&Scene<'_, 'a>),
) -> Rehearsal<'a> {
    let before = started(job, course);
    rehearse_steps(job, &course.steps(job.steps()), &before, watch)
}

/// Rehearses some sections of a job. `before` is the rehearsal of all sections before them, or `None` if there are
/// none; its moves are included in the result. The machine is then as it is at the start of the job: see [`start`].
pub(crate) fn rehearse_from<'a>(
    job: &Job<'a>,
    sections: Range<usize>,
    before: Option<&Rehearsal<'a>>,
    watch: impl FnMut(&Scene<'_, 'a>),
) -> Rehearsal<'a> {
    let course = Course::default();
    let start;
    let before = if let Some(before) = before {
        before
    } else {
        start = started(job, &course);
        &start
    };
    let sections = job.sections[sections].iter();
    let steps = course.steps(sections.flat_map(|section| section.steps()));
    rehearse_steps(job, &steps, before, watch)
}

fn rehearse_steps<'a>(
    job: &Job<'a>,
    steps: &[&JobStep<'a>],
    before: &Rehearsal<'a>,
    mut watch: impl FnMut(&Scene<'_, 'a>),
) -> Rehearsal<'a> {
    let mut state = before.end.clone();
    let mut moves = before.moves.clone();
    moves.reserve(steps.iter().map(|step| step.actions.len()).sum());
    for step in steps.iter().copied() {
        for action in step.all_actions() {
            let moment = moment_of(&state, step, action);
            watch(&Scene {
                job: job.name(),
                shop: job.shop,
                machine: job.machine,
                step,
                action,
                moment,
                before: &state,
            });
            if let Thing::Part(part) = action.thing {
                moves.push(Move {
                    verb: action.verb,
                    part,
                    moment,
                });
            }
            apply(&mut state, action, moment);
        }
    }
    Rehearsal {
        moves,
        start: before.start,
        end: state,
    }
}

/// The rehearsal of what was done before a job, on another sheet.
fn started<'a>(job: &Job<'a>, course: &Course<'a>) -> Rehearsal<'a> {
    let nothing = Rehearsal {
        moves: Vec::new(),
        start: 0,
        end: State::initial(job.shop, job.machine),
    };
    let earlier = course.steps(job.earlier_steps());
    let done = rehearse_steps(job, &earlier, &nothing, |_| {});
    Rehearsal {
        start: done.end.account().count(),
        ..done
    }
}

/// The state of the machine at the start of a job.
#[must_use]
pub(crate) fn start<'a>(job: &Job<'a>) -> State<'a> {
    started(job, &Course::default()).end
}

fn moment_of(state: &State<'_>, step: &JobStep<'_>, action: &Action<'_>) -> Moment {
    Moment {
        index: state.account().count(),
        step: step.number,
        span: action.span,
    }
}

/// The state after each step of a job, in order of the steps, in the course in which nothing is wrong.
#[must_use]
pub(crate) fn states<'a>(job: &Job<'a>) -> Vec<State<'a>> {
    let mut state = start(job);
    let mut states = Vec::new();
    let course = Course::default();
    for step in job.steps() {
        let actions = step.all_actions().filter(|_| course.has(step));
        for action in actions {
            let moment = moment_of(&state, step, action);
            apply(&mut state, action, moment);
        }
        states.push(state.clone());
    }
    states
}
