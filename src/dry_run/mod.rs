//! A job is rehearsed on a model of its machine.
//!
//! Comes in: a [`Job`]. Goes out: its [`Rehearsal`], the machine's state after
//! every step, and what changed at each action with the action before it that
//! set it up. It judges nothing: `rules` read the rehearsal and say what would
//! go wrong.

use crate::finding::Span;
use crate::job::{Act, Job, Thing};
use crate::prose::Verb;
use crate::shop::Part;
use std::collections::BTreeMap;

/// Where a part is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PartPlace {
    /// On, as found.
    #[default]
    On,
    /// On, but loose.
    Loose,
    /// Off.
    Off,
}

/// An action in the job, to point back at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Moment {
    /// The step's number.
    pub step: u32,
    /// Where it is written.
    pub span: Span,
}

/// A part in the course of the job.
#[derive(Clone, Copy, Debug, Default)]
pub struct PartState {
    /// Where it is.
    pub place: PartPlace,
    /// Which action put it there; none as found.
    pub since: Option<Moment>,
    /// Which action noted its seat.
    pub noted: Option<Moment>,
}

/// The machine's state, as far as anything was done to it: what is not in it is as found.
#[derive(Clone, Debug, Default)]
pub struct State<'a> {
    parts: BTreeMap<&'a str, PartState>,
}

impl<'a> State<'a> {
    /// A part's state.
    #[must_use]
    pub fn part(&self, id: &str) -> PartState {
        self.parts.get(id).copied().unwrap_or_default()
    }

    /// Parts that something was done to, by id.
    pub fn parts(&self) -> impl Iterator<Item = (&'a str, PartState)> + '_ {
        self.parts.iter().map(|(id, state)| (*id, *state))
    }
}

/// Something done to a part, and the part's state just before it.
#[derive(Clone, Copy, Debug)]
pub struct Move<'a> {
    /// What was done.
    pub verb: Verb,
    /// To which part.
    pub part: &'a Part,
    /// When.
    pub at: Moment,
    /// How the part was before.
    pub before: PartState,
}

/// What happened when the job was rehearsed.
#[derive(Debug)]
pub struct Rehearsal<'a> {
    /// Everything done to parts, in order.
    pub moves: Vec<Move<'a>>,
    /// The state after each step, in order of the steps.
    pub after: Vec<State<'a>>,
}

impl<'a> Rehearsal<'a> {
    /// The state the job ends in.
    #[must_use]
    pub fn end(&self) -> State<'a> {
        self.after.last().cloned().unwrap_or_default()
    }

    /// Moves of one kind on one part, in order.
    pub fn moves_of<'r>(
        &'r self,
        part: &'r str,
        verbs: &'r [Verb],
    ) -> impl Iterator<Item = &'r Move<'a>> + 'r {
        self.moves
            .iter()
            .filter(move |one| one.part.id == part && verbs.contains(&one.verb))
    }
}

/// Rehearses a job.
#[must_use]
pub fn rehearse<'a>(job: &Job<'a>) -> Rehearsal<'a> {
    let mut state = State::default();
    let mut rehearsal = Rehearsal {
        moves: Vec::new(),
        after: Vec::new(),
    };
    for step in job.steps() {
        for act in step.all_acts() {
            let at = Moment {
                step: step.number,
                span: act.span,
            };
            if let Some(done) = act_on_part(act, at, &mut state) {
                rehearsal.moves.push(done);
            }
        }
        rehearsal.after.push(state.clone());
    }
    rehearsal
}

fn act_on_part<'a>(act: &Act<'a>, at: Moment, state: &mut State<'a>) -> Option<Move<'a>> {
    let Thing::Part(part) = act.thing else {
        return None;
    };
    let entry = state.parts.entry(part.id.as_str()).or_default();
    let before = *entry;
    let place = match act.verb {
        Verb::Remove => Some(PartPlace::Off),
        Verb::Slacken => Some(PartPlace::Loose),
        // A fastener is started by hand, and is loose until it is tightened.
        Verb::Fit | Verb::Renew if part.is_fastener() => Some(PartPlace::Loose),
        Verb::Fit | Verb::Renew | Verb::Tighten => Some(PartPlace::On),
        _ => None,
    };
    if let Some(place) = place {
        entry.place = place;
        entry.since = Some(at);
    }
    if act.verb == Verb::Note {
        entry.noted = Some(at);
    }
    Some(Move {
        verb: act.verb,
        part,
        at,
        before,
    })
}
