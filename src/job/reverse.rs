//! Derives the reassembly from the state of the machine.
//!
//! Changes are undone in reverse order. If the order of the disassembly was right, so is the reverse: a part
//! that came off before another is fitted after it, and a tap that was closed before a hose came off is opened
//! after the hose is back. Fasteners that came off one after another belong to one joint: all are started by
//! hand before the first is tightened. Before the ignition is live again, every part that carries a fluid and
//! was off is inspected for leaks. A fluid is filled once everything that holds it is on and tight, and the part
//! that it is filled through is off at that moment.
//!
//! A step that the author wrote replaces the derived step for the same thing. Written steps below it, up to the
//! next such step, move with it. Written steps above the first such step come first.

use super::data::{JobStep, StepContent, When};
use super::progress::{Progress, Task, thing_of};
use crate::finding::{FileId, Located, Span};
use crate::model::{Action, Thing, Undone};
use crate::procedure::Procedure;
use crate::prose::{ActionLink, Inline, Verb};
use crate::shop::{EnergyKind, EngineNeed, Fluid, Machine, Part, ValveState};
use std::borrow::Cow;
use std::sync::Arc;

/// The steps of a derived section. `written` are the steps that the author wrote in it, `heading` the span of
/// its heading. `pair` lists the files whose changes it undoes if its procedure reverses another.
pub(super) fn derive<'a>(
    progress: &Progress<'a>,
    written: Vec<JobStep<'a>>,
    origin: &'a Procedure,
    pair: &[FileId],
    heading: Span,
) -> Vec<JobStep<'a>> {
    let machine = progress.machine();
    let changes = progress.undone_for(origin, pair);
    let mut tasks = tasks(
        changes.iter().map(|change| change.undone).collect(),
        machine,
    );
    place_fillings(&mut tasks, machine);
    for change in changes.iter().filter(|change| change.when.is_some()) {
        let id = thing_of(change.undone).id();
        let of_thing = tasks.iter_mut().filter(|task| task.thing.id() == id);
        of_thing.for_each(|task| task.when = change.when);
    }
    let mut steps = Vec::new();
    let mut groups = group_by_anchor(&tasks, written);
    if groups.first().is_some_and(|group| group.anchors.is_empty()) {
        steps.extend(groups.remove(0).steps);
    }
    tasks.reverse();
    while let Some(task) = tasks.pop() {
        let anchored = take_anchored(&mut groups, &task);
        if anchored.is_empty() {
            steps.push(derived_step(task, origin, heading));
            continue;
        }
        if let Some(when) = left_open(&anchored, &task) {
            let derived = Task {
                when: Some(when),
                ..task
            };
            steps.push(derived_step(derived, origin, heading));
        }
        // One written step may do several tasks.
        for group in anchored {
            tasks.retain(|other| !group.anchors.iter().any(|anchor| anchor.is_same(other)));
            steps.extend(group.steps);
        }
    }
    // These written steps do tasks that are not needed. The rehearsal judges them.
    steps.extend(groups.into_iter().flat_map(|group| group.steps));
    steps
}

/// The actions that undo these changes, in order. `undone` is in the order in which the changes were made.
fn tasks<'a>(undone: Vec<Undone<'a>>, machine: &Machine) -> Vec<Task<'a>> {
    let mut tasks = Vec::new();
    // Tightening tasks of the current joint, held back until its fasteners are all started by hand.
    let mut joint = Vec::new();
    // Parts to inspect for leaks before the ignition is live.
    let mut opened: Vec<&Part> = Vec::new();
    let reversed: Vec<Undone<'_>> = undone.into_iter().rev().collect();
    for (index, undone) in reversed.iter().copied().enumerate() {
        let (part, is_off) = match undone {
            Undone::Off(part) => (Some(part), true),
            Undone::Loose(part) => (Some(part), false),
            _ => (None, false),
        };
        // A clip that was only loosened is tightened like a fastener, although nothing turns it.
        let is_tightened = part.is_some_and(|part| part.is_fastener() || !is_off);
        if !is_tightened {
            // Fasteners that were only loosened wait if a part that they hold is still off.
            let (waiting, ready): (Vec<_>, Vec<_>) = joint
                .into_iter()
                .partition(|task: &Task<'_>| holds_any(task, &reversed[index..]));
            tasks.extend(ready);
            joint = waiting;
        }
        match undone {
            Undone::Off(part) => {
                let thing = Thing::Part(part);
                if part.single_use {
                    let verb = Verb::Renew;
                    tasks.push(Task::new(verb, thing));
                } else {
                    tasks.extend(Task::undoing(Verb::Remove, thing));
                }
                let carried = part.carries.as_ref();
                if carried.is_some_and(|fluid| {
                    machine.fluids[fluid.value].leak_check == EngineNeed::Stopped
                }) {
                    opened.push(part);
                }
            }
            Undone::Loose(_) => {}
            Undone::Valve(valve) => {
                let done = match valve.initial {
                    ValveState::Open => Verb::Close,
                    ValveState::Closed => Verb::Open,
                };
                tasks.extend(Task::undoing(done, Thing::Valve(valve)));
            }
            Undone::Control(control) => tasks.push(Task::new(Verb::Set, Thing::Control(control))),
            Undone::Drained(fluid) => {
                tasks.extend(Task::undoing(Verb::Drain, Thing::Fluid(fluid)));
            }
            Undone::Isolated(energy) => {
                if energy.kind == Some(EnergyKind::Ignition) {
                    // Hands are at the joints, so that nothing is live yet.
                    let last = tasks.iter().rposition(|task| task.verb != Verb::Restore);
                    let at = last.map_or(0, |last| last + 1);
                    let inspections = opened
                        .drain(..)
                        .map(|part| Task::new(Verb::Inspect, Thing::Part(part)));
                    tasks.splice(at..at, inspections);
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

/// Moves each filling behind the last task on what holds the fluid, and the refitting of the part that it is filled
/// through behind the filling. If that part is on, it is taken off for the filling.
fn place_fillings<'a>(tasks: &mut Vec<Task<'a>>, machine: &'a Machine) {
    let fillings = tasks.iter().enumerate().rev();
    let fillings: Vec<(usize, &Fluid)> = fillings
        .filter_map(|(index, task)| match task.thing {
            Thing::Fluid(fluid) if task.verb == Verb::Fill => Some((index, fluid)),
            _ => None,
        })
        .collect();
    for (index, fluid) in fillings {
        let filling = tasks.remove(index);
        let filler = fluid
            .through
            .as_ref()
            .map(|part| &machine.parts[part.value]);
        let is_on_filler = |task: &Task<'_>| {
            filler.is_some_and(|filler| task.thing.id() == Some(filler.id.into()))
        };
        let last = tasks
            .iter()
            .rposition(|task| !is_on_filler(task) && is_on_holder(task, fluid, machine));
        let at = last.map_or(index, |last| index.max(last + 1));
        let rest = tasks.split_off(at);
        let (refitting, others): (Vec<_>, Vec<_>) = tasks.drain(..).partition(is_on_filler);
        tasks.extend(others);
        let is_refitted = !refitting.is_empty() || rest.iter().any(is_on_filler);
        let opened = filler
            .filter(|filler| !is_refitted && filler.behind.is_empty() && filler.held_by.is_empty());
        if let Some(filler) = opened {
            let task = |verb| Task::new(verb, Thing::Part(filler));
            tasks.extend([task(Verb::Remove), filling]);
            tasks.extend(checks_and_refitting(filler).into_iter().map(task));
        } else {
            tasks.push(filling);
            tasks.extend(refitting);
        }
        tasks.extend(rest);
    }
}

/// Whether a task is on a part that holds a fluid, or on a fastener of such a part.
fn is_on_holder(task: &Task<'_>, fluid: &Fluid, machine: &Machine) -> bool {
    let Thing::Part(touched) = task.thing else {
        return false;
    };
    if task.verb == Verb::Inspect {
        return false;
    }
    let mut holders = machine.parts.values().filter(|part| {
        let mut fluids = [&part.carries, &part.drains].into_iter().flatten();
        fluids.any(|held| held.value == fluid.id)
    });
    holders
        .any(|part| part.id == touched.id || part.held_by.iter().any(|by| by.value == touched.id))
}

/// What is done to a part that was taken off for a moment.
fn checks_and_refitting(part: &Part) -> Vec<Verb> {
    let steps = [
        (part.clean, Verb::Clean),
        (part.is_judged() && !part.single_use, Verb::Inspect),
        (!part.single_use, Verb::Fit),
        (part.single_use, Verb::Renew),
        (part.is_fastener(), Verb::Tighten),
    ];
    let steps = steps.into_iter();
    steps
        .filter_map(|(is_due, verb)| is_due.then_some(verb))
        .collect()
}

/// Whether the task's fastener holds one of the parts that are still off.
fn holds_any(task: &Task<'_>, still_off: &[Undone<'_>]) -> bool {
    still_off.iter().any(|undone| match undone {
        Undone::Off(part) => part
            .held_by
            .iter()
            .any(|holder| task.thing.id() == Some(holder.value.into())),
        _ => false,
    })
}

/// A written step that replaces derived steps, with the written steps that move with it.
struct Group<'a> {
    /// The tasks that the first step does. Empty only for the steps before the first such step.
    anchors: Vec<Task<'a>>,
    steps: Vec<JobStep<'a>>,
}

/// Groups the written steps. Each step that does one of the tasks begins a new group.
fn group_by_anchor<'a>(tasks: &[Task<'a>], written: Vec<JobStep<'a>>) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for step in written {
        let anchors: Vec<Task<'a>> = step
            .actions
            .iter()
            .filter(|action| action.verb != Verb::Tighten || action.is_tightened_fully())
            .map(|action| Task {
                when: step.when,
                ..Task::new(action.verb, action.thing)
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

/// Takes the written steps that do a task: one, or several that depend on outcomes.
fn take_anchored<'a>(groups: &mut Vec<Group<'a>>, task: &Task<'a>) -> Vec<Group<'a>> {
    let anchor_of = |group: &Group<'a>| {
        let mut anchors = group.anchors.iter();
        anchors.find(|anchor| anchor.is_same(task)).copied()
    };
    let mut taken: Vec<Group<'a>> = Vec::new();
    let mut index = 0;
    while index < groups.len() {
        match anchor_of(&groups[index]) {
            Some(anchor) if taken.is_empty() || anchor.when.is_some() => {
                taken.push(groups.remove(index));
                if anchor.when.is_none() {
                    break;
                }
            }
            _ => index += 1,
        }
    }
    taken
}

/// The outcomes on which none of the written steps does a task. `None` if they do it on any, or depend on several things.
fn left_open<'a>(written: &[Group<'a>], task: &Task<'a>) -> Option<When<'a>> {
    let anchors = written.iter().flat_map(|group| &group.anchors);
    let anchors = anchors.filter(|anchor| anchor.is_same(task));
    let mut whens = anchors
        .map(|anchor| anchor.when)
        .collect::<Option<Vec<When<'a>>>>()?
        .into_iter();
    let first = whens.next().filter(|_| task.when.is_none())?;
    let all = whens.try_fold(first, |all, when| all.or(&when))?;
    all.otherwise()
}

/// Makes a step for a task. Its span is the heading of the derived section.
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
        above: &[],
        text: Cow::Owned(vec![Inline::Action(Box::new(link), Vec::new())]),
        notes: &[],
        figures: &[],
        actions: vec![Action {
            verb: task.verb,
            thing: task.thing,
            span: heading,
            position: match task.thing {
                Thing::Control(control) => Some(control.position_name(control.initial)),
                _ => None,
            },
            stage: None,
            is_whole: false,
            amount: None,
            inner: Vec::new(),
        }],
        span: heading,
        when: task.when,
        repeat: None,
        waivers: &[],
        is_derived: true,
    };
    JobStep {
        number: 0,
        cautions: Vec::new(),
        content: Arc::new(content),
    }
}
