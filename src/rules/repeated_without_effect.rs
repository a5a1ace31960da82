//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Finding, Findings, Span, rule};
use crate::job::{Action, JobStep, Thing};
use crate::prose::{Inline, Verb};
use crate::rehearsal::{EnergyState, EngineState, Moment, Move, PartPlace, Scene};
use crate::shop::{FluidState, PartId, ValveState};
use crate::verbs::ActionClass;
use std::collections::BTreeMap;

rule! {
    /// An action is repeated while the first one still holds.
    ///
    /// A valve is closed that the job has closed, an energy isolated that is isolated, a condition confirmed that
    /// holds, a fluid drained that is drained, a fastener tightened that the job has tightened; or a part is cleaned,
    /// inspected or noted twice in the same words, with nothing done in between.
    ///
    /// Both actions must be in one procedure, because a procedure that is also done alone has to be complete.
    ///
    /// ## At the bench
    ///
    /// One of the two was meant for something else, or for another time. If not, people learn to tick steps that have
    /// nothing to do.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](clean:cover)
    /// 2. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct what the second step names if something else is meant. Otherwise delete it, unless it protects somebody:
    /// a step that isolates, closes, confirms or inspects stays, with a waiver that gives the reason.
    "repeated-without-effect", Rehearsal, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[
    On::Action(
        &[
            Verb::Open,
            Verb::Close,
            Verb::Drain,
            Verb::Isolate,
            Verb::Confirm,
            Verb::Tighten,
            Verb::Slacken,
        ],
        check,
    ),
    On::Stop(check_looks),
];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Some(first) = same_before(scene) else {
        return;
    };
    let own = scene.step.origin.file;
    // What starts the engine is done at every run.
    let is_inner = scene.moment.span.file != own;
    if !is_inner && first.span.file == own {
        let job = scene.job.to_string();
        findings.push(finding(scene.action, scene.moment.span, first.span, job));
    }
}

/// The action of the job that has brought the thing into the state that this action brings it into. `None` if it is in
/// another state, or if the job found it so.
fn same_before(scene: &Scene<'_, '_>) -> Option<Moment> {
    let before = scene.before;
    let (is_same, since) = match (scene.action.verb, scene.action.thing) {
        (Verb::Open, Thing::Valve(valve)) => {
            let state = before.valve(valve.id);
            (state.now == ValveState::Open, state.since)
        }
        (Verb::Close, Thing::Valve(valve)) => {
            let state = before.valve(valve.id);
            (state.now == ValveState::Closed, state.since)
        }
        (Verb::Drain, Thing::Fluid(fluid)) => {
            let state = before.fluid(fluid.id);
            (state.now == FluidState::Empty, state.since)
        }
        (Verb::Isolate, Thing::Energy(energy)) => {
            let state = before.energy(energy.id);
            (state.now != EnergyState::Live, state.since)
        }
        (Verb::Confirm, Thing::Condition(condition)) => (true, before.condition(condition.id)),
        (verb @ (Verb::Tighten | Verb::Slacken), Thing::Part(part)) => {
            let state = before.part(part.id);
            let is_same = state.how.is_some_and(|(done, _)| done == verb);
            let place = match verb {
                Verb::Tighten => PartPlace::On,
                _ => PartPlace::Loose,
            };
            // `stage-out-of-order` reports the stages of a fastener. What was tightened cold may be tightened again
            // after a run.
            let engine = before.engine();
            let index = |since: Option<Moment>| since.map(|moment| moment.index);
            let has_run =
                engine.now == EngineState::Running || index(engine.since) > index(state.since);
            let is_same = is_same && state.place == place && !has_run;
            (is_same && scene.action.stage.is_none(), state.since)
        }
        _ => return None,
    };
    since.filter(|_| is_same)
}

/// Whether any part is looked at twice in the same way without work on a part in between. Nearly no job does that, and
/// this is found much faster than which steps they are.
fn has_repeated_look(moves: &[Move<'_>]) -> bool {
    let mut looks: Vec<(Verb, PartId)> = Vec::new();
    moves.iter().any(|action| {
        if !is_look(action.verb) {
            if action.verb.spec().class == ActionClass::Work {
                looks.clear();
            }
            return false;
        }
        let look = (action.verb, action.part.id);
        let is_repeated = looks.contains(&look);
        looks.push(look);
        is_repeated
    })
}

fn is_look(verb: Verb) -> bool {
    matches!(verb, Verb::Clean | Verb::Inspect | Verb::Note)
}

/// A part that was cleaned, inspected or noted.
struct Look<'j, 'a> {
    step: &'j JobStep<'a>,
    action: &'j Action<'a>,
    /// The number of changes to the machine before it.
    changes: u32,
}

fn check_looks(ending: &Ending<'_, '_>, findings: &mut Findings) {
    if !has_repeated_look(ending.moves) {
        return;
    }
    let mut last: BTreeMap<PartId, Look<'_, '_>> = BTreeMap::new();
    // A part's own cleaning changes nothing else.
    let mut changes = 0;
    for step in ending.job.steps() {
        for action in step.all_actions() {
            if !is_look(action.verb) {
                let is_work = action.verb.spec().class == ActionClass::Work;
                changes += u32::from(is_work);
                continue;
            }
            let Thing::Part(part) = action.thing else {
                continue;
            };
            let look = Look {
                step,
                action,
                changes,
            };
            let same = last.insert(part.id, look).filter(|before| {
                before.action.verb == action.verb
                    && before.changes == changes
                    && before.step.origin.file == step.origin.file
                    && before.action.span != action.span
                    && text_of(before.step, before.action) == text_of(step, action)
            });
            if let Some(first) = same {
                let job = ending.job.name().to_string();
                findings.push(finding(action, action.span, first.action.span, job));
            }
        }
    }
}

/// The text of an action's link. `None` for an action that the compiler derived.
fn text_of<'j>(step: &'j JobStep<'_>, action: &Action<'_>) -> Option<&'j [Inline]> {
    fn find(inlines: &[Inline], span: Span) -> Option<&[Inline]> {
        inlines.iter().find_map(|inline| match inline {
            Inline::Action(link, text) if link.span == span => Some(text.as_slice()),
            Inline::Action(_, inner)
            | Inline::Strong(inner)
            | Inline::Emphasis(inner)
            | Inline::Link(_, inner) => find(inner, span),
            _ => None,
        })
    }
    let mut texts = std::iter::once(&*step.text).chain(step.notes.iter().map(Vec::as_slice));
    texts.find_map(|text| find(text, action.span))
}

fn finding(action: &Action<'_>, here: Span, first: Span, job: String) -> Finding {
    let written = format!("{}:{}", action.verb.word(), action.thing.key());
    Finding::new(&RULE, format!("`{written}` is repeated without effect"))
        .in_job(job)
        .primary(here, "repeated here")
        .secondary(first, "done here, and nothing has changed it since")
        .help(match action.verb {
            // These protect somebody.
            Verb::Isolate | Verb::Confirm | Verb::Close | Verb::Inspect => {
                "correct what it names if something else is meant; if it is repeated on purpose, waive the rule in this \
                 step with the reason"
            }
            _ => "correct what it names if something else is meant, or delete this step",
        })
}
