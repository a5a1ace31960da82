//! The way back, derived from what was undone.
//!
//! In reverse order, which is right wherever the way there was right: what was
//! in front of a part when it came off is fitted after it, and a tap closed
//! before a hose came off is opened after it is back. Fasteners that came off
//! one after another secure one joint: all are started by hand before the first
//! is tightened. Before the ignition is live again, every part that carries a
//! fluid and was open is looked over for leaks.
//!
//! Steps the author wrote take the place of the derived step for the same
//! thing; what stands below such a step stays below it, and what stands above
//! them all comes first.

use super::{Act, Deed, Step, Thing};
use crate::finding::{Located, Span};
use crate::procedure::Procedure;
use crate::prose::{Action, Inline, Verb};
use crate::shop::{Energy, EnergyKind, Fluid, Part, ThingId, Valve, ValveState};
use std::borrow::Cow;
use std::sync::Arc;

/// Something that has to be brought back.
#[derive(Clone, Copy, Debug)]
pub(super) enum Undone<'a> {
    /// A part that is off.
    Off(&'a Part),
    /// A part that is on, and loose.
    Loose(&'a Part),
    /// A valve that is not as found.
    Valve(&'a Valve),
    /// A fluid that is drained.
    Drained(&'a Fluid),
    /// An energy that is isolated.
    Isolated(&'a Energy),
}

/// What has been undone so far, in order, and in which procedure.
#[derive(Clone, Debug, Default)]
pub(super) struct Ledger<'a> {
    entries: Vec<(&'a str, Undone<'a>)>,
}

impl<'a> Ledger<'a> {
    /// Keeps account of a step.
    pub(super) fn note(&mut self, step: &Step<'a>) {
        for act in step.all_acts() {
            self.note_act(act, &step.origin.id);
        }
    }

    fn note_act(&mut self, act: &Act<'a>, origin: &'a str) {
        let undone = match (act.verb, act.thing) {
            (Verb::Remove, Thing::Part(part)) => {
                // What was slackened before it came off is tightened once.
                self.forget(act);
                Some(Undone::Off(part))
            }
            (Verb::Slacken, Thing::Part(part)) => Some(Undone::Loose(part)),
            // A fastener that is on is not yet tight.
            (Verb::Fit | Verb::Renew, Thing::Part(part)) if part.is_fastener() => {
                self.forget(act);
                Some(Undone::Loose(part))
            }
            (Verb::Close, Thing::Valve(valve)) if valve.found == ValveState::Open => {
                Some(Undone::Valve(valve))
            }
            (Verb::Open, Thing::Valve(valve)) if valve.found == ValveState::Closed => {
                Some(Undone::Valve(valve))
            }
            (Verb::Drain, Thing::Fluid(fluid)) => Some(Undone::Drained(fluid)),
            // A stage on the way is not yet tight.
            (Verb::Tighten, Thing::Part(_)) if !act.is_tightened_fully() => None,
            (Verb::Isolate, Thing::Energy(energy)) => Some(Undone::Isolated(energy)),
            (Verb::Fit | Verb::Renew | Verb::Tighten, Thing::Part(_))
            | (Verb::Open | Verb::Close, Thing::Valve(_))
            | (Verb::Fill, Thing::Fluid(_))
            | (Verb::Restore, Thing::Energy(_)) => {
                self.forget(act);
                None
            }
            _ => None,
        };
        if let Some(undone) = undone {
            self.entries.push((origin, undone));
        }
    }

    fn forget(&mut self, act: &Act<'_>) {
        let done = act.thing.id();
        self.entries.retain(|(_, undone)| {
            let thing: ThingId = match undone {
                Undone::Off(part) | Undone::Loose(part) => part.id.into(),
                Undone::Valve(valve) => valve.id.into(),
                Undone::Drained(fluid) => fluid.id.into(),
                Undone::Isolated(energy) => energy.id.into(),
            };
            Some(thing) != done
        });
    }

    /// Takes out what a procedure's way back has to bring back: every part that is off, and those
    /// valves, fluids and energies that it changed itself. What made the machine safe before it
    /// is undone by what finishes the job.
    fn take_for(&mut self, procedure: &str) -> Vec<Undone<'a>> {
        let all = std::mem::take(&mut self.entries);
        let (taken, kept): (Vec<_>, Vec<_>) = all.into_iter().partition(|(origin, undone)| {
            matches!(undone, Undone::Off(_) | Undone::Loose(_)) || *origin == procedure
        });
        self.entries = kept;
        taken.into_iter().map(|(_, undone)| undone).collect()
    }
}

/// One thing that has to be done on the way back.
#[derive(Clone, Copy)]
struct Task<'a> {
    verb: Verb,
    thing: Thing<'a>,
}

impl Task<'_> {
    /// Whether both do the same to the same: to fit a new part is to fit it.
    fn is_same(&self, other: &Task<'_>) -> bool {
        let plain = |verb| if verb == Verb::Renew { Verb::Fit } else { verb };
        plain(self.verb) == plain(other.verb) && self.thing.id() == other.thing.id()
    }
}

/// The steps of a procedure's way back.
pub(super) fn derive<'a>(
    ledger: &mut Ledger<'a>,
    written: Vec<Step<'a>>,
    origin: &'a Procedure,
    heading: Span,
) -> Vec<Step<'a>> {
    let mut tasks = tasks(ledger.take_for(&origin.id));
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
    // A written step for a thing that was not undone is for the dry run to judge.
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
                let verb = if part.renew { Verb::Renew } else { Verb::Fit };
                tasks.push(Task {
                    verb,
                    thing: Thing::Part(part),
                });
                if part.carries.is_some() {
                    opened.push(part);
                }
            }
            Undone::Loose(_) => {}
            Undone::Valve(valve) => tasks.push(Task {
                verb: match valve.found {
                    ValveState::Open => Verb::Open,
                    ValveState::Closed => Verb::Close,
                },
                thing: Thing::Valve(valve),
            }),
            Undone::Drained(fluid) => tasks.push(Task {
                verb: Verb::Fill,
                thing: Thing::Fluid(fluid),
            }),
            Undone::Isolated(energy) => {
                if energy.kind == Some(EnergyKind::Ignition) {
                    tasks.extend(opened.drain(..).map(|part| Task {
                        verb: Verb::Inspect,
                        thing: Thing::Part(part),
                    }));
                }
                tasks.push(Task {
                    verb: Verb::Restore,
                    thing: Thing::Energy(energy),
                });
            }
        }
        if let Some(part) = part.filter(|_| is_tightened) {
            joint.push(Task {
                verb: Verb::Tighten,
                thing: Thing::Part(part),
            });
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
    steps: Vec<Step<'a>>,
}

/// Written steps in groups, each led by a step that does one of the tasks.
fn group_by_anchor<'a>(tasks: &[Task<'a>], written: Vec<Step<'a>>) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    for step in written {
        let anchors: Vec<Task<'a>> = step
            .acts
            .iter()
            .filter(|act| act.verb != Verb::Tighten || act.is_tightened_fully())
            .map(|act| Task {
                verb: act.verb,
                thing: act.thing,
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
fn derived_step<'a>(task: Task<'a>, origin: &'a Procedure, heading: Span) -> Step<'a> {
    let action = Action {
        verb: task.verb,
        thing: Located {
            value: task.thing.key().to_owned(),
            span: heading,
        },
        span: heading,
    };
    let deed = Deed {
        origin,
        id: None,
        text: Cow::Owned(vec![Inline::Action(Box::new(action), Vec::new())]),
        notes: &[],
        figures: &[],
        acts: vec![Act {
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
    Step {
        number: 0,
        cautions: Vec::new(),
        deed: Arc::new(deed),
    }
}
