//! What a job has changed on its machine so far, and what of that has to be undone.

use super::data::{Job, JobSection, JobStep, When};
use crate::finding::FileId;
use crate::model::{Action, Moment, State, Thing, Undone};
use crate::procedure::Procedure;
use crate::prose::Verb;
use crate::shop::{Machine, Shop, ThingId};
use crate::verbs::apply;
use std::sync::Arc;

/// The machine after some sections of a job, as far as undoing needs it.
#[derive(Clone, Debug)]
pub(super) struct Progress<'a> {
    /// If every step is done, whatever it depends on.
    all: Track<'a>,
    /// If no step is done that depends on an outcome. `None` if there is no such step.
    without: Option<Track<'a>>,
    /// The actions that depend on an outcome, since the last action on the same thing that depends on none.
    conditional: Vec<(Task<'a>, When<'a>)>,
    /// The number of actions so far.
    count: usize,
}

/// A state of the machine, with the source of each action that led to it.
#[derive(Clone, Debug)]
struct Track<'a> {
    state: State<'a>,
    /// By the action's index in the job.
    sources: Vec<Source<'a>>,
}

/// Where an action comes from.
#[derive(Clone, Copy, Debug)]
struct Source<'a> {
    /// Its place in the order of all actions.
    at: usize,
    /// The file of the procedure that it was written in.
    file: FileId,
    /// What its step depends on.
    when: Option<When<'a>>,
}

/// A change that a procedure has to undo.
#[derive(Clone, Copy, Debug)]
pub(super) struct Change<'a> {
    pub(super) undone: Undone<'a>,
    /// The action that made it. `None` if the machine was found so.
    source: Option<Source<'a>>,
    /// What it depends on whether there is anything to undo.
    pub(super) when: Option<When<'a>>,
}

impl<'a> Track<'a> {
    fn apply(&mut self, action: &Action<'a>, step: &JobStep<'a>, source: Source<'a>) {
        let moment = Moment {
            index: self.state.account().count(),
            step: step.number,
            span: action.span,
        };
        apply(&mut self.state, action, moment);
        self.sources.push(source);
    }

    fn source(&self, index: u32) -> Option<Source<'a>> {
        self.sources.get(index as usize).copied()
    }

    /// All changes, in the order in which they were made.
    fn changes(&self) -> Vec<Change<'a>> {
        let undone = self.state.undone().into_iter();
        let changes = undone.map(|(index, undone)| {
            let source = self.source(index);
            let when = source.and_then(|source| source.when);
            Change {
                undone,
                source,
                when,
            }
        });
        changes.collect()
    }

    /// What it depended on that a part was put back.
    fn put_back_when(&self, undone: Undone<'a>) -> Option<When<'a>> {
        let (Undone::Off(part) | Undone::Loose(part)) = undone else {
            return None;
        };
        self.source(self.state.part(part.id).since?.index)?.when
    }
}

impl<'a> Progress<'a> {
    pub(super) fn new(shop: &Shop, machine: &'a Machine) -> Progress<'a> {
        Progress {
            all: Track {
                state: State::initial(shop, machine),
                sources: Vec::new(),
            },
            without: None,
            conditional: Vec::new(),
            count: 0,
        }
    }

    pub(super) fn machine(&self) -> &'a Machine {
        self.all.state.machine()
    }

    /// The state at the start of a job.
    pub(super) fn at_start(job: &Job<'a>) -> Progress<'a> {
        let mut progress = Progress::new(job.shop, job.machine);
        if let Some(earlier) = &job.earlier {
            progress.advance_all(&earlier.sections);
        }
        progress
    }

    pub(super) fn advance_all(&mut self, sections: &[Arc<JobSection<'a>>]) {
        for section in sections {
            self.advance(section);
        }
    }

    /// Applies the actions of a section.
    pub(super) fn advance(&mut self, section: &JobSection<'a>) {
        for step in section.steps() {
            if step.when.is_some() && self.without.is_none() {
                self.without = Some(self.all.clone());
            }
            for action in step.all_actions() {
                let source = Source {
                    at: self.count,
                    file: step.origin.file,
                    when: step.when,
                };
                self.count += 1;
                self.all.apply(action, step, source);
                let is_done = self.is_done_on_all_outcomes(action, step.when);
                if let Some(without) = self.without.as_mut().filter(|_| is_done) {
                    without.apply(action, step, source);
                }
            }
        }
    }

    /// Whether an action that follows is done whatever is found: it depends on nothing, or the same was done before on
    /// every other outcome, as the renewal of a part that is otherwise refitted.
    fn is_done_on_all_outcomes(&mut self, action: &Action<'a>, when: Option<When<'a>>) -> bool {
        let task = Task::new(action.verb, action.thing);
        let Some(when) = when else {
            self.conditional
                .retain(|(earlier, _)| earlier.thing.id() != task.thing.id());
            return true;
        };
        let is_other = |other: When<'_>| {
            let otherwise = other.otherwise();
            otherwise.is_some_and(|otherwise| {
                otherwise.thing.id() == when.thing.id() && otherwise.outcome == when.outcome
            })
        };
        let mut earlier = self.conditional.iter();
        let is_done = earlier.any(|(earlier, other)| earlier.is_same(&task) && is_other(*other));
        self.conditional.push((task, when));
        is_done
    }

    /// The changes that a procedure has to undo, in the order in which they were made: every part that is off or
    /// loose, and the valves, fluids and energies that the procedure itself changed. The others were changed
    /// before it to make the machine safe; the `finish` procedures of the job undo those.
    ///
    /// A procedure that reverses another undoes what is written in the two, which `pair` lists, and nothing else: other
    /// procedures put back what they took off.
    pub(super) fn undone_for(&self, procedure: &Procedure, pair: &[FileId]) -> Vec<Change<'a>> {
        let mut changes = self.all.changes();
        if let Some(without) = &self.without {
            let of = |change: &Change<'a>| thing_of(change.undone);
            let known: Vec<Option<ThingId>> =
                changes.iter().map(|change| of(change).id()).collect();
            // What was put back only on some outcome is put back here on any other.
            let others = without.changes().into_iter();
            let others = others.filter(|change| !known.contains(&of(change).id()));
            changes.extend(others.map(|change| {
                let when = self.all.put_back_when(change.undone);
                let when = when.and_then(When::otherwise);
                Change { when, ..change }
            }));
            changes.sort_by_key(|change| change.source.map(|source| source.at));
        }
        changes.retain(|change| {
            let is_own = |files: &[FileId]| {
                let source = change.source;
                source.is_some_and(|source| files.contains(&source.file))
            };
            if !pair.is_empty() {
                return is_own(pair);
            }
            matches!(change.undone, Undone::Off(_) | Undone::Loose(_)) || is_own(&[procedure.file])
        });
        changes
    }
}

pub(super) fn thing_of(undone: Undone<'_>) -> Thing<'_> {
    match undone {
        Undone::Off(part) | Undone::Loose(part) => Thing::Part(part),
        Undone::Valve(valve) => Thing::Valve(valve),
        Undone::Control(control) => Thing::Control(control),
        Undone::Drained(fluid) => Thing::Fluid(fluid),
        Undone::Isolated(energy) => Thing::Energy(energy),
    }
}

/// One action of the reassembly.
#[derive(Clone, Copy, Debug)]
pub(super) struct Task<'a> {
    pub(super) verb: Verb,
    pub(super) thing: Thing<'a>,
    /// What it depends on whether it is needed.
    pub(super) when: Option<When<'a>>,
}

impl<'a> Task<'a> {
    pub(super) fn new(verb: Verb, thing: Thing<'a>) -> Task<'a> {
        Task {
            verb,
            thing,
            when: None,
        }
    }

    /// The action that undoes `verb` on a thing. `None` if the verb has no inverse.
    pub(super) fn undoing(verb: Verb, thing: Thing<'a>) -> Option<Task<'a>> {
        let verb = verb.spec().inverse?;
        Some(Task::new(verb, thing))
    }

    /// Whether both do the same to the same thing. `renew` counts as `fit`.
    pub(super) fn is_same(&self, other: &Task<'_>) -> bool {
        let base = |verb| if verb == Verb::Renew { Verb::Fit } else { verb };
        base(self.verb) == base(other.verb) && self.thing.id() == other.thing.id()
    }
}
