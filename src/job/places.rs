//! References become numbers and links, once all steps are numbered.

use super::chain::Library;
use super::{Job, JobItem, JobStep, ReferenceTarget};
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::procedure::{Procedure, Reference, StepName, UNKNOWN_PLACE};
use crate::prose::{self, ActionLink, Inline, ProseBlock};
use crate::tree::Tree;
use std::collections::BTreeMap;

/// Where each reference and figure of the job leads.
pub(super) fn resolve<'a>(
    job: &mut Job<'a>,
    library: &Library<'a>,
    tree: &'a Tree,
    findings: &mut Findings,
) {
    let mut places = Places {
        job,
        library,
        tree,
        references: BTreeMap::new(),
        figures: BTreeMap::new(),
        findings,
    };
    places.find_all();
    let Places {
        references,
        figures,
        ..
    } = places;
    job.places = references;
    job.figures = figures;
}

struct Places<'a, 'f> {
    job: &'f Job<'a>,
    library: &'f Library<'a>,
    tree: &'a Tree,
    references: BTreeMap<Span, ReferenceTarget<'a>>,
    figures: BTreeMap<Span, &'a str>,
    findings: &'f mut Findings,
}

impl<'a> Places<'a, '_> {
    fn find_all(&mut self) {
        let job = self.job;
        for block in &job.procedure.why {
            self.block(block, job.procedure);
        }
        for section in &job.sections {
            let origin = section.origin;
            // Most procedures refer to nothing.
            if origin.references.is_empty() && origin.figures.is_empty() {
                continue;
            }
            for item in &section.items {
                match item {
                    JobItem::Text(block) => self.block(block, origin),
                    JobItem::Figure(image) => self.figure(image.path.span, origin),
                    JobItem::Step(step) => {
                        self.inlines(&step.text, origin);
                        for note in step.notes {
                            self.inlines(note, origin);
                        }
                        for image in step.figures {
                            self.figure(image.path.span, origin);
                        }
                    }
                }
            }
        }
    }

    fn block(&mut self, block: &ProseBlock, origin: &'a Procedure) {
        match block {
            ProseBlock::Paragraph(inlines, _) => self.inlines(inlines, origin),
            ProseBlock::List(list) => {
                for block in list.items.iter().flat_map(|item| &item.blocks) {
                    self.block(block, origin);
                }
            }
            ProseBlock::Heading(_) | ProseBlock::Quote(..) => {}
        }
    }

    fn inlines(&mut self, inlines: &[Inline], origin: &'a Procedure) {
        if origin.references.is_empty() {
            return;
        }
        for link in prose::actions(inlines) {
            // One that leads nowhere in any job was reported when it was read.
            let Some(reference) = origin.references.get(&link.span) else {
                continue;
            };
            match self.place(reference, link, origin) {
                Ok(place) => {
                    self.references.insert(link.span, place);
                }
                Err(finding) => self.findings.push(*finding),
            }
        }
    }

    fn figure(&mut self, path: Span, origin: &Procedure) {
        if let Some(figure) = origin.figures.get(&path) {
            let figure = &self.tree.figures[figure.index()];
            self.figures.insert(path, &figure.path);
        }
    }

    fn place(
        &self,
        reference: &Reference,
        link: &ActionLink,
        origin: &Procedure,
    ) -> Result<ReferenceTarget<'a>, Box<Finding>> {
        let thing = &link.thing;
        match reference {
            Reference::Procedure(id) => {
                let procedure = self.library.procedure(*id);
                self.on_machine(procedure, thing.span)
                    .map(ReferenceTarget::Procedure)
            }
            Reference::Fault(id) => {
                let fault = self.library.fault(*id);
                self.on_machine(fault, thing.span)
                    .map(ReferenceTarget::Fault)
            }
            Reference::Figure(id) => {
                let figure = &self.tree.figures[id.index()];
                Ok(ReferenceTarget::Figure(&figure.path))
            }
            Reference::Step(StepName::Id(id)) => {
                self.step(thing, origin, |step| step.id == Some(id.as_str()))
            }
            Reference::Step(StepName::Action(verb, key)) => self.step(thing, origin, |step| {
                let mut actions = step.actions.iter();
                actions.any(|action| action.verb == *verb && action.thing.key() == key)
            }),
        }
    }

    /// A procedure or fault table, if it is for the job's machine.
    fn on_machine(
        &self,
        procedure: &'a Procedure,
        span: Span,
    ) -> Result<&'a Procedure, Box<Finding>> {
        let machine = self.job.machine;
        if procedure.is_for(machine.index) {
            return Ok(procedure);
        }
        let message = format!(
            "`{}` is not for `{}`, so there is nothing to see",
            procedure.id, machine.id
        );
        Err(Box::new(nowhere(span, message).help(
            "keep the step to the machines that have it: `{only=\"…\"}`",
        )))
    }

    /// The one step that `is` it: among those of the same procedure first.
    fn step(
        &self,
        thing: &Located<String>,
        origin: &Procedure,
        is: impl Fn(&JobStep<'_>) -> bool,
    ) -> Result<ReferenceTarget<'a>, Box<Finding>> {
        let all: Vec<&JobStep<'_>> = self.job.steps().filter(|step| is(step)).collect();
        let own: Vec<&JobStep<'_>> = all
            .iter()
            .copied()
            .filter(|step| step.origin.file == origin.file)
            .collect();
        let found = if own.is_empty() { all } else { own };
        match found.as_slice() {
            [one] => Ok(ReferenceTarget::Step(one.number)),
            [] => {
                let ids = self.job.steps().filter_map(|step| step.id);
                let wanted = thing.value.trim_start_matches("step/");
                let message = format!("no step of this job is `{wanted}`");
                let nowhere = nowhere(thing.span, message);
                Err(Box::new(nowhere.suggest(nearest(wanted, ids))))
            }
            several => {
                let numbers: Vec<String> =
                    several.iter().map(|step| step.number.to_string()).collect();
                let message = format!(
                    "`{}` could be any of steps {} on `{}`",
                    thing.value,
                    numbers.join(", "),
                    self.job.machine.id
                );
                Err(Box::new(nowhere(thing.span, message).help(
                    "give the step an id, `{#nuts-off}` at its end, and see that",
                )))
            }
        }
    }
}

fn nowhere(span: Span, message: String) -> Finding {
    Finding::new(&UNKNOWN_PLACE, message).primary(span, "")
}
