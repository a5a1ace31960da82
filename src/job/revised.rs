//! A job with more steps than its sources have, to try out a fix before it is suggested.

use super::data::{Job, JobItem, JobSection, JobStep, StepContent};
use super::figures::Shown;
use super::hazards::{self, SeenCautions};
use super::names;
use super::progress::Progress;
use super::reverse;
use crate::finding::Span;
use crate::model::{Action, Thing};
use crate::procedure::Procedure;
use crate::prose::{self, ThingKind, Verb};
use crate::shop::{Machine, Shop, slug};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A step that the sources do not have.
#[derive(Clone, Debug)]
pub(crate) struct NewStep<'a> {
    /// The written step that it is next to.
    pub(crate) beside: Span,
    /// Whether it follows that step; otherwise it precedes it.
    pub(crate) is_after: bool,
    pub(crate) action: NewAction<'a>,
}

/// An action that the sources do not have.
#[derive(Clone, Debug)]
pub(crate) struct NewAction<'a> {
    /// The action as written in a link: `tighten:head-bolt/2`.
    pub(crate) written: String,
    verb: Verb,
    thing: Thing<'a>,
    position: Option<&'a str>,
    stage: Option<usize>,
}

impl<'a> NewAction<'a> {
    /// `None` if the machine does not have the thing.
    pub(crate) fn new(
        shop: &'a Shop,
        machine: &'a Machine,
        written: &str,
    ) -> Option<NewAction<'a>> {
        let (verb, name) = written.split_once(':')?;
        let verb = Verb::find(verb)?;
        let key = verb.takes().key_in(name);
        let qualifier = name[key.len()..].strip_prefix('/');
        let thing = names::find(shop, machine, verb.takes(), key)?;
        let (mut position, mut stage) = (None, None);
        match (thing, qualifier) {
            (_, None) => {}
            (Thing::Control(control), Some(wanted)) => {
                let mut positions = control.positions.iter();
                position = Some(positions.find(|known| slug(&known.value) == wanted)?);
            }
            (_, Some(wanted)) => stage = Some(wanted.parse().ok()?),
        }
        Some(NewAction {
            written: written.to_owned(),
            verb,
            thing,
            position: position.map(|position| position.value.as_str()),
            stage,
        })
    }

    fn at(&self, span: Span) -> Action<'a> {
        Action {
            verb: self.verb,
            thing: self.thing,
            span,
            position: self.position,
            stage: self.stage,
            is_whole: false,
            amount: None,
            inner: Vec::new(),
        }
    }
}

impl<'a> NewStep<'a> {
    /// The end of the step beside it, where it will be written.
    fn span(&self) -> Span {
        let length = self.beside.len();
        if self.is_after {
            self.beside.part(length..length)
        } else {
            self.beside.part(0..0)
        }
    }

    fn step(&self, job: &Job<'a>, origin: &'a Procedure) -> JobStep<'a> {
        let span = self.span();
        let content = StepContent {
            origin,
            id: None,
            above: &[],
            text: Cow::Borrowed(&[]),
            notes: &[],
            figures: &[],
            actions: vec![Action {
                inner: inner_actions(job.shop, job.machine, self.action.verb),
                ..self.action.at(span)
            }],
            span,
            when: None,
            repeat: None,
            waivers: &[],
            is_derived: false,
        };
        JobStep {
            number: 0,
            cautions: Vec::new(),
            content: Arc::new(content),
        }
    }
}

/// The actions in the machine's own instruction for a verb.
fn inner_actions<'a>(shop: &'a Shop, machine: &'a Machine, verb: Verb) -> Vec<Action<'a>> {
    let instruction = match verb {
        Verb::Run => machine.run.start.as_deref(),
        Verb::Stop => machine.run.stop.as_deref(),
        _ => None,
    };
    let links = prose::actions(instruction.unwrap_or_default());
    let action = |link: &prose::ActionLink| {
        let written = format!("{}:{}", link.verb.word(), link.thing.value);
        Some(NewAction::new(shop, machine, &written)?.at(link.span))
    };
    links.filter_map(action).collect()
}

/// Whether a machine has the thing of an action, or the action is on no thing of a machine.
pub(crate) fn is_on(shop: &Shop, machine: &Machine, kind: ThingKind, name: &str) -> bool {
    !kind.is_of_machine() || names::find(shop, machine, kind, kind.key_in(name)).is_some()
}

impl<'a> Job<'a> {
    /// The job with these steps added, and with its derived sections derived again. It can be rehearsed, but has
    /// neither step numbers nor references.
    #[must_use]
    pub(crate) fn with_steps(&self, new: &[NewStep<'a>]) -> Job<'a> {
        let mut progress = Progress::at_start(self);
        let mut sections = Vec::with_capacity(self.sections.len());
        for section in &self.sections {
            let mut items = self.items_with(section, new);
            if let Some(heading) = section.derived_at {
                items = derived_again(items, &progress, section, heading);
            }
            let section = JobSection {
                title: section.title,
                is_continued: section.is_continued,
                origin: section.origin,
                phase: section.phase,
                derived_at: section.derived_at,
                pair: section.pair.clone(),
                is_inspection: section.is_inspection,
                items,
            };
            progress.advance(&section);
            sections.push(section);
        }
        // A new step may be the first with a thing that brings a caution.
        hazards::place(
            &mut sections,
            self.shop,
            self.machine,
            &mut SeenCautions::new(),
        );
        Job {
            shop: self.shop,
            machine: self.machine,
            procedure: self.procedure,
            sections: sections.into_iter().map(Arc::new).collect(),
            prefix: None,
            earlier: self.earlier.clone(),
            continued_in: self.continued_in,
            places: BTreeMap::new(),
            figures: BTreeMap::new(),
            shown: Shown::default(),
            left_undone: self.left_undone.clone(),
            follow_on: self.follow_on.clone(),
            minutes: self.minutes,
            sources: self.sources.clone(),
            remedied_faults: Vec::new(),
            is_complete: self.is_complete,
        }
    }

    /// The items of a section, with the new steps beside their own.
    fn items_with(&self, section: &JobSection<'a>, new: &[NewStep<'a>]) -> Vec<JobItem<'a>> {
        let mut items = Vec::with_capacity(section.items.len());
        for item in &section.items {
            let JobItem::Step(step) = item else {
                items.push(item.clone());
                continue;
            };
            let beside = |is_after: bool| {
                let of_step = new.iter().filter(move |added| {
                    added.beside == step.span && added.is_after == is_after && !step.is_derived
                });
                of_step.map(|added| JobItem::Step(added.step(self, step.origin)))
            };
            items.extend(beside(false));
            items.push(item.clone());
            items.extend(beside(true));
        }
        items
    }
}

/// Derives the steps of a section again from its written ones.
fn derived_again<'a>(
    items: Vec<JobItem<'a>>,
    progress: &Progress<'a>,
    section: &JobSection<'a>,
    heading: Span,
) -> Vec<JobItem<'a>> {
    let mut written = Vec::new();
    let mut others = Vec::new();
    for item in items {
        match item {
            JobItem::Step(step) if step.is_derived => {}
            JobItem::Step(step) => written.push(step),
            other => others.push(other),
        }
    }
    // Deriving has moved them to what they do.
    written.sort_by_key(|step| step.span);
    let steps = reverse::derive(progress, written, section.origin, &section.pair, heading);
    others.extend(steps.into_iter().map(JobItem::Step));
    others
}
