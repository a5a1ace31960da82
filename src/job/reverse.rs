//! The way back, derived from what came off.
//!
//! In reverse order of taking off, which is right wherever taking off was
//! right: what was in front of a part when it came off is fitted after it.
//! Fasteners that came off one after another secure one joint: all are started
//! by hand before the first is tightened. Steps the author wrote take the place
//! of the derived step for the same part; what stands below such a step stays
//! below it, and what stands above them all comes first.

use super::build::derived_act;
use super::{Act, Step, Thing};
use crate::finding::{Located, Span};
use crate::procedure::Procedure;
use crate::prose::{Action, Inline, Verb};
use crate::shop::Part;
use std::borrow::Cow;

/// A part that is off, or loose.
#[derive(Clone, Copy, Debug)]
pub(super) struct Off<'a> {
    pub(super) part: &'a Part,
    /// Off, and not just slackened.
    pub(super) removed: bool,
}

/// One thing that has to be done on the way back.
#[derive(Clone, Copy)]
struct Task<'a> {
    part: &'a Part,
    /// Put on, or else tightened.
    fit: bool,
}

/// The steps of the way back.
pub(super) fn derive<'a>(
    off: Vec<Off<'a>>,
    written: Vec<Step<'a>>,
    origin: &'a Procedure,
    heading: Span,
) -> Vec<Step<'a>> {
    let mut tasks = tasks(off);
    let mut steps = Vec::new();
    let mut groups = group_by_anchor(&tasks, written);
    if groups.first().is_some_and(|group| group.anchors.is_empty()) {
        steps.extend(groups.remove(0).steps);
    }
    while !tasks.is_empty() {
        let task = tasks.remove(0);
        let anchored = groups
            .iter()
            .position(|group| group.anchors.iter().any(|anchor| is_same(anchor, &task)));
        let Some(at) = anchored else {
            steps.push(derived_step(task, origin, heading));
            continue;
        };
        let group = groups.remove(at);
        // One written step may see to several parts.
        tasks.retain(|other| !group.anchors.iter().any(|anchor| is_same(anchor, other)));
        steps.extend(group.steps);
    }
    // A written step for a part that is not off is for the dry run to judge.
    steps.extend(groups.into_iter().flat_map(|group| group.steps));
    steps
}

fn is_same(one: &Task<'_>, other: &Task<'_>) -> bool {
    one.fit == other.fit && one.part.id == other.part.id
}

fn tasks(off: Vec<Off<'_>>) -> Vec<Task<'_>> {
    let mut tasks = Vec::new();
    let mut joint: Vec<Task<'_>> = Vec::new();
    for Off { part, removed } in off.into_iter().rev() {
        // A clip that was only slid back is pushed home like a fastener, though nothing turns it.
        let is_tightened = part.is_fastener() || !removed;
        if !is_tightened {
            tasks.append(&mut joint);
        }
        if removed {
            tasks.push(Task { part, fit: true });
        }
        if is_tightened {
            joint.push(Task { part, fit: false });
        }
    }
    tasks.append(&mut joint);
    tasks
}

struct Group<'a> {
    anchors: Vec<Task<'a>>,
    steps: Vec<Step<'a>>,
}

/// Written steps in groups, each led by a step that does one of the tasks.
fn group_by_anchor<'a>(tasks: &[Task<'a>], written: Vec<Step<'a>>) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for step in written {
        let anchors: Vec<Task<'a>> = step
            .acts
            .iter()
            .filter_map(task_of)
            .filter(|anchor| tasks.iter().any(|task| is_same(anchor, task)))
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

fn task_of<'a>(act: &Act<'a>) -> Option<Task<'a>> {
    let Thing::Part(part) = act.thing else {
        return None;
    };
    match act.verb {
        Verb::Fit | Verb::Renew => Some(Task { part, fit: true }),
        Verb::Tighten => Some(Task { part, fit: false }),
        _ => None,
    }
}

fn derived_step<'a>(task: Task<'a>, origin: &'a Procedure, heading: Span) -> Step<'a> {
    let verb = match task {
        Task { fit: false, .. } => Verb::Tighten,
        Task { part, .. } if part.renew => Verb::Renew,
        Task { .. } => Verb::Fit,
    };
    let action = Action {
        verb,
        thing: Located {
            value: task.part.id.clone(),
            span: heading,
        },
        span: heading,
    };
    Step {
        number: 0,
        origin,
        id: None,
        cautions: Vec::new(),
        text: Cow::Owned(vec![Inline::Action(action, Vec::new())]),
        notes: &[],
        figures: &[],
        acts: vec![derived_act(verb, task.part, heading)],
        span: heading,
        derived: true,
    }
}
