//! Derives the reassembly from the state of the machine.
//!
//! What was undone is brought back in reverse order. That is right wherever the order of undoing was right:
//! a part that was in front of another when it came off is fitted after it, and a tap that was closed
//! before a hose came off is opened after the hose is back. Fasteners that came off one after another
//! secure one joint: all are started by hand before the first is tightened. Before the ignition is live
//! again, every part that carries a fluid and was open is inspected for leaks.
//!
//! Steps the author wrote take the place of the derived step for the same
//! thing; what stands below such a step stays below it, and what stands above
//! them all comes first.

use super::{Action, JobSection, JobStep, StepContent, Thing};
use crate::finding::{FileId, Located, Span};
use crate::model::{Moment, State, Undone};
use crate::procedure::Procedure;
use crate::prose::{ActionLink, Inline, Verb};
use crate::shop::{EnergyKind, Machine, Part, Shop, ValveState};
use crate::verbs::apply;
use std::borrow::Cow;
use std::sync::Arc;

/// The machine after some sections of a job, with the procedure that each action was written in.
#[derive(Clone, Debug)]
pub(super) struct Progress<'a> {
    state: State<'a>,
    /// By the index of the action.
    origins: Vec<FileId>,
}

impl<'a> Progress<'a> {
    pub(super) fn new(shop: &Shop, machine: &'a Machine) -> Progress<'a> {
        Progress {
            state: State::found(shop, machine),
            origins: Vec::new(),
        }
    }

    /// Does the steps of a section.
    pub(super) fn advance(&mut self, section: &JobSection<'a>) {
        for step in section.steps() {
            for link in step.all_actions() {
                let at = Moment {
                    index: self.state.account().count(),
                    step: step.number,
                    span: link.span,
                };
                apply(&mut self.state, link, at);
                self.origins.push(step.origin.file);
            }
        }
    }

    /// What a procedure has to bring back, in the order in which it was undone: every part that is off or
    /// loose, and those valves, fluids and energies that it changed itself. What was changed before it to
    /// make the machine safe is brought back by the procedures that finish the job.
    fn undone_for(&self, procedure: &Procedure) -> Vec<Undone<'a>> {
        let undone = self.state.undone().into_iter();
        let own = undone.filter(|(index, undone)| {
            matches!(undone, Undone::Off(_) | Undone::Loose(_))
                || self.origins.get(*index as usize) == Some(&procedure.file)
        });
        own.map(|(_, undone)| undone).collect()
    }
}

/// One thing that has to be done on the way back.
#[derive(Clone, Copy)]
struct Task<'a> {
    verb: Verb,
    thing: Thing<'a>,
}

impl<'a> Task<'a> {
    /// What brings back what a verb did to a thing.
    fn undoing(verb: Verb, thing: Thing<'a>) -> Option<Task<'a>> {
        let verb = verb.spec().inverse?;
        Some(Task { verb, thing })
    }

    /// Whether both do the same to the same: to fit a new part is to fit it.
    fn is_same(&self, other: &Task<'_>) -> bool {
        let plain = |verb| if verb == Verb::Renew { Verb::Fit } else { verb };
        plain(self.verb) == plain(other.verb) && self.thing.id() == other.thing.id()
    }
}

/// The steps of a procedure's way back.
pub(super) fn derive<'a>(
    progress: &Progress<'a>,
    written: Vec<JobStep<'a>>,
    origin: &'a Procedure,
    heading: Span,
) -> Vec<JobStep<'a>> {
    let mut tasks = tasks(progress.undone_for(origin));
    let mut steps = Vec::new();
    let mut groups = group_by_anchor(&tasks, written);
    if groups.first().is_some_and(|group| group.anchors.is_empty()) {
        steps.extend(groups.remove(0).steps);
    }
    tasks.reverse();
    while let Some(task) = tasks.pop() {
        let anchored = groups
            .iter()
            .position(|group| group.anchors.iter().any(|anchor| anchor.is_same(&task)));
        let Some(at) = anchored else {
            steps.push(derived_step(task, origin, heading));
            continue;
        };
        let group = groups.remove(at);
        // One written step may see to several things.
        tasks.retain(|other| !group.anchors.iter().any(|anchor| anchor.is_same(other)));
        steps.extend(group.steps);
    }
    // A written step for a thing that was not undone is for the rehearsal to judge.
    steps.extend(groups.into_iter().flat_map(|group| group.steps));
    steps
}

fn tasks(undone: Vec<Undone<'_>>) -> Vec<Task<'_>> {
    let mut tasks = Vec::new();
    let mut joint = Vec::new();
    let mut opened: Vec<&Part> = Vec::new();
    let back: Vec<Undone<'_>> = undone.into_iter().rev().collect();
    for (at, undone) in back.iter().copied().enumerate() {
        let (part, is_off) = match undone {
            Undone::Off(part) => (Some(part), true),
            Undone::Loose(part) => (Some(part), false),
            _ => (None, false),
        };
        // A clip that was only slid back is pushed home like a fastener, though nothing turns it.
        let is_tightened = part.is_some_and(|part| part.is_fastener() || !is_off);
        if !is_tightened {
            // A screw that was only loose when a part slid out from under it waits for that part.
            let (waits, goes): (Vec<_>, Vec<_>) = joint
                .into_iter()
                .partition(|task: &Task<'_>| holds_any(task, &back[at..]));
            tasks.extend(goes);
            joint = waits;
        }
        match undone {
            Undone::Off(part) => {
                let thing = Thing::Part(part);
                if part.renew {
                    let verb = Verb::Renew;
                    tasks.push(Task { verb, thing });
                } else {
                    tasks.extend(Task::undoing(Verb::Remove, thing));
                }
                if part.carries.is_some() {
                    opened.push(part);
                }
            }
            Undone::Loose(_) => {}
            Undone::Valve(valve) => {
                let left = match valve.found {
                    ValveState::Open => Verb::Close,
                    ValveState::Closed => Verb::Open,
                };
                tasks.extend(Task::undoing(left, Thing::Valve(valve)));
            }
            Undone::Drained(fluid) => {
                tasks.extend(Task::undoing(Verb::Drain, Thing::Fluid(fluid)));
            }
            Undone::Isolated(energy) => {
                if energy.kind == Some(EnergyKind::Ignition) {
                    tasks.extend(opened.drain(..).map(|part| Task {
                        verb: Verb::Inspect,
                        thing: Thing::Part(part),
                    }));
                }
                tasks.extend(Task::undoing(Verb::Isolate, Thing::Energy(energy)));
            }
        }
        if let Some(part) = part.filter(|_| is_tightened) {
            joint.extend(Task::undoing(Verb::Slacken, Thing::Part(part)));
        }
    }
    tasks.append(&mut joint);
    tasks
}

/// Whether a fastener holds a part that is still to go on.
fn holds_any(task: &Task<'_>, still_off: &[Undone<'_>]) -> bool {
    still_off.iter().any(|undone| match undone {
        Undone::Off(part) => part
            .held_by
            .iter()
            .any(|holder| task.thing.id() == Some(holder.value.into())),
        _ => false,
    })
}

struct Group<'a> {
    anchors: Vec<Task<'a>>,
    steps: Vec<JobStep<'a>>,
}

/// Written steps in groups, each led by a step that does one of the tasks.
fn group_by_anchor<'a>(tasks: &[Task<'a>], written: Vec<JobStep<'a>>) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for step in written {
        let anchors: Vec<Task<'a>> = step
            .actions
            .iter()
            .filter(|action| action.verb != Verb::Tighten || action.is_tightened_fully())
            .map(|action| Task {
                verb: action.verb,
                thing: action.thing,
            })
            .filter(|anchor| tasks.iter().any(|task| task.is_same(anchor)))
            .collect();
        match groups.last_mut() {
            Some(group) if anchors.is_empty() => group.steps.push(step),
            _ => groups.push(Group {
                anchors,
                steps: vec![step],
            }),
        }
    }
    groups
}

/// A step that the compiler writes. Its place is the heading that asked for it.
fn derived_step<'a>(task: Task<'a>, origin: &'a Procedure, heading: Span) -> JobStep<'a> {
    let link = ActionLink {
        verb: task.verb,
        thing: Located {
            value: task.thing.key().to_owned(),
            span: heading,
        },
        span: heading,
    };
    let content = StepContent {
        origin,
        id: None,
        text: Cow::Owned(vec![Inline::Action(Box::new(link), Vec::new())]),
        notes: &[],
        figures: &[],
        actions: vec![Action {
            verb: task.verb,
            thing: task.thing,
            span: heading,
            seat: None,
            stage: None,
            inner: Vec::new(),
        }],
        span: heading,
        excuses: &[],
        derived: true,
    };
    JobStep {
        number: 0,
        cautions: Vec::new(),
        content: Arc::new(content),
    }
}
