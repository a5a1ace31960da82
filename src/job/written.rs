//! Makes the steps of one procedure on one machine.

use super::data::{JobStep, Repeat, StepContent, When};
use super::names::{Names, UnresolvedName, amount, performed};
use crate::model::{Action, Thing};
use crate::procedure::{self, Procedure};
use crate::prose::{self, ActionLink, Verb};
use std::borrow::Cow;
use std::sync::Arc;

/// The steps of a procedure on a machine, without numbers. They are the same in every job.
#[derive(Debug)]
pub(super) struct Written<'a> {
    /// In order. `None` for a step that is left out on this machine.
    pub(super) steps: Vec<Option<JobStep<'a>>>,
    /// Whether all names in the steps could be resolved.
    pub(super) is_complete: bool,
    pub(super) unresolved: Vec<UnresolvedName>,
}

impl<'a> Written<'a> {
    pub(super) fn new(names: Names<'a, '_>, procedure: &'a Procedure) -> Written<'a> {
        let mut written = Written {
            steps: Vec::new(),
            is_complete: true,
            unresolved: Vec::new(),
        };
        for step in procedure.steps() {
            let step = written.step(names, procedure, step);
            written.steps.push(step);
        }
        written
    }

    fn step(
        &mut self,
        names: Names<'a, '_>,
        origin: &'a Procedure,
        step: &'a procedure::Step,
    ) -> Option<JobStep<'a>> {
        if !step.is_for(names.machine.index) {
            return None;
        }
        let links = || step.actions().chain(step.outcomes());
        if step.if_fitted && !names.is_fitted(links()) {
            // A name that no machine has is a typing error, which would silently remove the step on every machine.
            for link in links() {
                if !names.is_known_anywhere(link) {
                    self.resolve(names, step, link);
                }
            }
            return None;
        }
        let mut actions = Vec::with_capacity(step.actions().count());
        step.actions()
            .for_each(|link| actions.extend(self.action(names, step, link)));
        let cautions = step
            .cautions
            .iter()
            .filter_map(|link| match self.resolve(names, step, link)? {
                Thing::Caution(caution) => Some(caution),
                _ => None,
            })
            .collect();
        let content = StepContent {
            origin,
            id: step.id.as_ref().map(|id| id.value.as_str()),
            above: &step.above,
            text: Cow::Borrowed(&step.text),
            notes: &step.notes,
            figures: &step.figures,
            actions,
            span: step.span,
            when: (step.when.as_deref()).and_then(|when| self.when(names, step, when)),
            repeat: (step.repeat.as_deref()).and_then(|repeat| self.repeat(names, step, repeat)),
            waivers: &step.waivers,
            is_derived: false,
        };
        Some(JobStep {
            number: 0,
            cautions,
            content: Arc::new(content),
        })
    }

    fn when(
        &mut self,
        names: Names<'a, '_>,
        step: &procedure::Step,
        when: &procedure::When,
    ) -> Option<When<'a>> {
        let thing = self.resolve(names, step, &when.link)?;
        Some(When {
            thing,
            outcome: when.outcome,
        })
    }

    fn repeat(
        &mut self,
        names: Names<'a, '_>,
        step: &procedure::Step,
        repeat: &'a procedure::Repeat,
    ) -> Option<Repeat<'a>> {
        Some(Repeat {
            until: self.when(names, step, &repeat.until)?,
            back_to: &repeat.back_to.value,
            at_most: repeat.at_most,
        })
    }

    fn resolve(
        &mut self,
        names: Names<'a, '_>,
        step: &procedure::Step,
        link: &ActionLink,
    ) -> Option<Thing<'a>> {
        let thing = names.resolve(step, link, &mut self.unresolved);
        self.is_complete &= thing.is_some();
        thing
    }

    fn action(
        &mut self,
        names: Names<'a, '_>,
        step: &procedure::Step,
        link: &'a ActionLink,
    ) -> Option<Action<'a>> {
        let thing = self.resolve(names, step, link);
        let run = &names.machine.run;
        let instruction = match link.verb {
            Verb::Run => run.start.as_deref(),
            Verb::Stop => run.stop.as_deref(),
            _ => None,
        };
        let mut inner = Vec::new();
        // Few actions have an instruction.
        if let Some(instruction) = instruction {
            inner.extend(prose::actions(instruction).filter_map(|link| {
                let thing = self.resolve(names, step, link)?;
                Some(Action {
                    verb: link.verb,
                    thing,
                    span: link.span,
                    position: names.position(link, thing, &mut self.unresolved),
                    stage: None,
                    is_whole: false,
                    amount: amount(link, thing, &mut self.unresolved),
                    inner: Vec::new(),
                })
            }));
        }
        let thing = thing?;
        Some(Action {
            verb: performed(link.verb, thing),
            position: names.position(link, thing, &mut self.unresolved),
            stage: names.stage(link, thing, &mut self.unresolved),
            is_whole: names.is_whole(link, &mut self.unresolved),
            amount: amount(link, thing, &mut self.unresolved),
            thing,
            span: link.span,
            inner,
        })
    }
}
