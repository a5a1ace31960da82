//! The changes that may solve a problem of a draft.
//!
//! Most are what the rule proposes, at each place where it may belong. The others are for what a proposal can't say: that
//! a step belongs to the reassembly, which is derived.

use super::bench::{At, Problem};
use super::draft::{Chapter, Draft, DraftStep};
use crate::Sources;
use crate::finding::{Place, Proposal};
use crate::procedure::Step;
use crate::prose::{ActionLink, Verb};
use crate::shop::{Machine, Valve, ValveState};

/// What the changes of a draft depend on.
#[derive(Clone, Copy)]
pub(super) struct Changes<'s> {
    pub(super) sources: &'s Sources,
    pub(super) machine: &'s Machine,
}

impl Changes<'_> {
    /// The drafts that may solve a problem, the most likely first.
    pub(super) fn of(self, draft: &Draft, problem: &Problem) -> Vec<Draft> {
        let mut changes = Vec::new();
        let proposals = problem.finding.proposals.iter().cloned();
        // Nothing comes off twice, or is made safe twice.
        let is_done = |action: &String| {
            let mut once = ["remove:", "isolate:", "drain:"].iter();
            once.any(|verb| action.starts_with(verb)) && draft.has(action)
        };
        let proposals = proposals.chain(self.protection(draft, problem));
        let proposals: Vec<Proposal> = proposals
            .filter(|proposal| !proposal.actions.iter().any(is_done))
            .collect();
        for proposal in &proposals {
            for at in places(draft, problem.at, proposal) {
                let mut new = draft.clone();
                add(&mut new, at, &proposal.actions);
                changes.push(new);
            }
            if problem.at == At::Refit {
                changes.extend(self.after_refitting(draft, proposal));
            }
            changes.extend(self.looked_at_wet(draft, proposal));
        }
        match problem.at {
            // The shop's own sentence may do more than is wanted here.
            At::Step(index) if draft.steps.get(index).is_some_and(|step| !step.is_plain) => {
                let mut new = draft.clone();
                new.steps[index].is_plain = true;
                changes.push(new);
            }
            At::Refit => {
                changes.extend(self.tightened_at_once(draft));
                changes.extend(self.set_before_tightening(draft));
            }
            _ => {}
        }
        changes
    }

    /// The steps of a proposal, below the step that puts their part back.
    fn after_refitting(self, draft: &Draft, proposal: &Proposal) -> Option<Draft> {
        let (_, key) = proposal.actions.first()?.split_once(':')?;
        let part = self.machine.parts.get(key)?;
        if !draft.has(&format!("remove:{key}")) {
            return None;
        }
        let verb = if part.single_use { "renew" } else { "fit" };
        let fit = format!("{verb}:{key}");
        let mut new = draft.clone();
        if !new.has(&fit) {
            new.push(Chapter::Refit, fit);
        }
        for action in &proposal.actions {
            new.push(Chapter::Refit, action.as_str());
        }
        Some(new)
    }

    /// Joints that are inspected for leaks, with the valves of their fluids open.
    fn looked_at_wet(self, draft: &Draft, proposal: &Proposal) -> Option<Draft> {
        let mut valves: Vec<&Valve> = Vec::new();
        for action in &proposal.actions {
            let part = self.machine.parts.get(action.strip_prefix("inspect:")?)?;
            if let Some(fluid) = &part.carries {
                valves.extend(self.machine.valves_of(fluid.value));
            }
        }
        valves.sort_by_key(|valve| valve.id);
        valves.dedup_by_key(|valve| valve.id);
        if valves.is_empty() {
            return None;
        }
        let mut new = draft.clone();
        for valve in &valves {
            new.push(Chapter::Check, format!("open:{}", valve.key));
        }
        for action in &proposal.actions {
            new.push(Chapter::Check, action.as_str());
        }
        for valve in valves
            .iter()
            .filter(|valve| valve.initial == ValveState::Closed)
        {
            new.push(Chapter::Check, format!("close:{}", valve.key));
        }
        Some(new)
    }

    /// Drafts in which a setting is measured before its lock is slackened, set before the lock is tightened, and measured
    /// again.
    fn set_before_tightening(self, draft: &Draft) -> Vec<Draft> {
        let mut changes = Vec::new();
        for (at, step) in draft.steps.iter().enumerate() {
            let Some(lock) = step.action.strip_prefix("slacken:") else {
                continue;
            };
            let Some(lock) = self.machine.parts.find(lock) else {
                continue;
            };
            // It is set once the last of the parts that it holds is back.
            let held = &self.machine.named_by[lock].holds;
            let mut held = held.iter().map(|part| &self.machine.parts[part.value].key);
            let back = held.rfind(|key| draft.has(&format!("remove:{key}")));
            for reading in self.machine.readings.values() {
                let adjust = format!("adjust:{}", reading.key);
                let is_locked = reading.locked_by.iter().any(|by| by.value == lock);
                if !is_locked || draft.has(&adjust) {
                    continue;
                }
                let measure = format!("measure:{}", reading.key);
                let mut new = draft.clone();
                if let Some(back) = back {
                    new.push(Chapter::Refit, format!("fit:{back}"));
                }
                new.push(Chapter::Refit, adjust);
                new.insert(at, step.chapter, measure.as_str());
                // Before what is in front of it is put back, or else at the end.
                let mut measured_late = new.clone();
                let key = &self.machine.parts[lock].key;
                new.push(Chapter::Refit, format!("tighten:{key}"));
                new.push(Chapter::Refit, measure.as_str());
                measured_late.push(Chapter::Check, measure);
                changes.push(new);
                changes.push(measured_late);
            }
        }
        changes
    }

    /// Drafts in which a fastener is tightened as soon as it is started, and not with others.
    fn tightened_at_once(self, draft: &Draft) -> impl Iterator<Item = Draft> {
        let parts = self.machine.parts.values();
        let fasteners = parts.filter(|part| {
            part.is_fastener()
                && !part.single_use
                && draft.has(&format!("remove:{}", part.key))
                && !draft.has(&format!("fit:{}", part.key))
        });
        fasteners.map(|part| {
            let mut new = draft.clone();
            let at = new.push(Chapter::Refit, format!("fit:{}", part.key));
            new.steps[at].then = vec![format!("tighten:{}", part.key)];
            new
        })
    }

    /// The protection that the shop's procedures put on for the work of a step, where several kinds comply with the sign
    /// that a message asks for.
    fn protection(self, draft: &Draft, problem: &Problem) -> Option<Proposal> {
        let At::Step(index) = problem.at else {
            return None;
        };
        let sign = problem.finding.others.first()?.span;
        let shop = &self.sources.shop;
        let mut cautions = shop.cautions.values();
        let sign = cautions.find_map(|caution| {
            let mut signs = caution.signs.iter();
            signs.find(|of| of.span == sign)
        })?;
        let (_, thing) = draft.steps.get(index)?.action.split_once(':')?;
        let tools = shop.protective.iter().map(|id| &shop.tools[*id]);
        let complying = tools.filter(|tool| tool.protects.iter().any(|of| of.value == sign.value));
        let uses = |tool: &str| {
            let procedures = self.sources.procedures.iter();
            let with_both = procedures.filter(|procedure| {
                let has = |wanted: &dyn Fn(&ActionLink) -> bool| {
                    let mut actions = procedure.steps().flat_map(Step::actions);
                    procedure.is_for(self.machine.index) && actions.any(wanted)
                };
                has(&|link| link.verb == Verb::Use && link.thing.value == tool)
                    && has(&|link| link.verb != Verb::Use && link.thing.value == thing)
            });
            with_both.count()
        };
        let counted = complying.map(|tool| (uses(&tool.key), tool));
        // The first of those that are used as often.
        let (count, tool) = counted.rev().max_by_key(|(count, _)| *count)?;
        (count > 0).then(|| Proposal {
            place: Place::Before,
            actions: vec![format!("use:{}", tool.key)],
            undoing: None,
        })
    }
}

/// A place for new steps: before the step at an index, in a chapter.
type NewPlace = (usize, Chapter);

fn add(draft: &mut Draft, (at, chapter): NewPlace, actions: &[String]) {
    for (offset, action) in actions.iter().enumerate() {
        draft.insert(at + offset, chapter, action.as_str());
    }
}

/// The places for the steps of a proposal.
fn places(draft: &Draft, at: At, proposal: &Proposal) -> Vec<NewPlace> {
    let end = |chapter: Chapter| {
        let end = draft.steps.partition_point(|step| step.chapter <= chapter);
        (end, chapter)
    };
    let makes_safe = proposal.actions.iter().any(|action| {
        ["isolate:", "prove:", "use:"]
            .iter()
            .any(|verb| action.starts_with(verb))
    });
    let before = |index: usize| {
        let chapter = draft
            .steps
            .get(index)
            .map_or(Chapter::Check, |step| step.chapter);
        let here = (index, chapter);
        match chapter {
            // What makes the work safe has a chapter of its own.
            Chapter::Safe => vec![here],
            _ if makes_safe => vec![end(Chapter::Safe), here],
            _ => vec![here],
        }
    };
    match (proposal.place, at) {
        (Place::Before | Place::Back, At::Step(index)) => before(index),
        (Place::Before | Place::Back, At::Refit) => {
            let first = if makes_safe {
                Chapter::Safe
            } else {
                Chapter::Clean
            };
            vec![end(first), end(Chapter::Clean), end(Chapter::Refit)]
        }
        (Place::Before | Place::Back | Place::Early | Place::Late, At::Finish)
        | (Place::Late, _) => {
            // What was isolated last may have to come back first.
            let restoring = |step: &DraftStep| {
                step.chapter == Chapter::Check && step.action.starts_with("restore:")
            };
            let first = draft.steps.iter().position(restoring);
            let first = first.map(|first| (first, Chapter::Check));
            std::iter::once(end(Chapter::Check)).chain(first).collect()
        }
        (Place::Early, At::Step(index)) => {
            let chapter = draft
                .steps
                .get(index)
                .map_or(Chapter::Check, |step| step.chapter);
            vec![(index + 1, chapter), end(Chapter::Check)]
        }
        (Place::Early, _) => vec![end(Chapter::Check)],
        (Place::Before | Place::Back, At::Begin) | (Place::Instead | Place::Text, _) => Vec::new(),
    }
}
