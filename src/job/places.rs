//! Resolves references to step numbers and links, once all steps are numbered.

use super::chain::Library;
use super::data::{Job, JobItem, JobStep, ReferenceTarget};
use super::names::performed;
use crate::finding::{Finding, Findings, Located, Near, Span, nearest};
use crate::procedure::{Procedure, Reference, StepName, UNRESOLVED_REFERENCE};
use crate::prose::{self, ActionLink, Inline, ProseBlock};
use crate::tree::Tree;
use std::collections::BTreeMap;

/// Fills in [`Job::places`] and [`Job::figures`], and reports references that can't be resolved.
pub(super) fn resolve<'a>(
    job: &mut Job<'a>,
    library: &Library<'a>,
    tree: &'a Tree,
    findings: &mut Findings,
) {
    let mut resolver = Resolver {
        job,
        library,
        tree,
        references: BTreeMap::new(),
        figures: BTreeMap::new(),
        findings,
    };
    resolver.job();
    let Resolver {
        references,
        figures,
        ..
    } = resolver;
    job.places = references;
    job.figures = figures;
}

struct Resolver<'a, 'f> {
    job: &'f Job<'a>,
    library: &'f Library<'a>,
    tree: &'a Tree,
    references: BTreeMap<Span, ReferenceTarget<'a>>,
    figures: BTreeMap<Span, &'a str>,
    findings: &'f mut Findings,
}

impl<'a> Resolver<'a, '_> {
    fn job(&mut self) {
        let job = self.job;
        for block in &job.procedure.why {
            self.block(block, job.procedure);
        }
        for section in &job.sections {
            let origin = section.origin;
            // Most procedures have no references.
            if origin.references.is_empty() && origin.figures.is_empty() {
                continue;
            }
            for item in &section.items {
                match item {
                    JobItem::Text(block) => self.block(block, origin),
                    JobItem::Figure(image) => self.figure(image.path.span, origin),
                    JobItem::Step(step) => {
                        for paragraph in step.above.iter().flat_map(|note| &note.paragraphs) {
                            self.inlines(paragraph, origin);
                        }
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
            ProseBlock::Note(note) => {
                for paragraph in &note.paragraphs {
                    self.inlines(paragraph, origin);
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
            // A reference without a target in any job was reported when it was read.
            let Some(reference) = origin.references.get(&link.span) else {
                continue;
            };
            match self.target(reference, link, origin) {
                Ok(target) => {
                    self.references.insert(link.span, target);
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

    fn target(
        &self,
        reference: &Reference,
        link: &ActionLink,
        origin: &Procedure,
    ) -> Result<ReferenceTarget<'a>, Box<Finding>> {
        let thing = &link.thing;
        match reference {
            Reference::Procedure(id) => {
                let procedure = self.library.procedure(*id);
                self.if_for_machine(procedure, thing.span)
                    .map(ReferenceTarget::Procedure)
            }
            Reference::Fault(id) => {
                let fault = self.library.fault(*id);
                self.if_for_machine(fault, thing.span)
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
                actions.any(|action| {
                    action.verb == performed(*verb, action.thing) && action.thing.key() == key
                })
            }),
        }
    }

    /// Returns the procedure or fault table if it is for the job's machine, else a finding.
    fn if_for_machine(
        &self,
        procedure: &'a Procedure,
        span: Span,
    ) -> Result<&'a Procedure, Box<Finding>> {
        let machine = self.job.machine;
        if procedure.is_for(machine.index) {
            return Ok(procedure);
        }
        let message = format!(
            "`{}` is not for `{}`, so the reference has no target",
            procedure.id, machine.id
        );
        Err(Box::new(unresolved_reference(span, message).help(
            "limit the step to the machines that have it: `{only=\"…\"}`",
        )))
    }

    /// The only step that `matches`. Steps of the referring procedure take precedence over all others.
    fn step(
        &self,
        thing: &Located<String>,
        origin: &Procedure,
        matches: impl Fn(&JobStep<'_>) -> bool,
    ) -> Result<ReferenceTarget<'a>, Box<Finding>> {
        let in_job: Vec<&JobStep<'_>> = self.job.steps().filter(|step| matches(step)).collect();
        let in_procedure: Vec<&JobStep<'_>> = in_job
            .iter()
            .copied()
            .filter(|step| step.origin.file == origin.file)
            .collect();
        let candidates = if in_procedure.is_empty() {
            in_job
        } else {
            in_procedure
        };
        match candidates.as_slice() {
            [step] => Ok(ReferenceTarget::Step(step.number)),
            [] => {
                let ids = self.job.steps().filter_map(|step| step.id);
                let wanted = thing.value.trim_start_matches("step/");
                let message = format!("this job has no step `{wanted}`");
                let finding = unresolved_reference(thing.span, message);
                let near = nearest(wanted, ids);
                let target = near.map(|id| format!("step/{id}"));
                let help = "refer to a step of this job by its id, as in `see:step/nuts-off`, or by its action, as in \
                            `see:step/remove/cover`; `{#nuts-off}` at the end of a step gives it an id";
                Err(Box::new(finding.suggest(near, help).corrected(
                    &thing.value,
                    Near::address(near, target.as_deref()),
                )))
            }
            several => {
                let numbers: Vec<String> =
                    several.iter().map(|step| step.number.to_string()).collect();
                let message = format!(
                    "`{}` matches steps {} on `{}`",
                    thing.value,
                    numbers.join(", "),
                    self.job.machine.id
                );
                Err(Box::new(unresolved_reference(thing.span, message).help(
                    "give the step an id, such as `{#nuts-off}` at its end, and refer to the id",
                )))
            }
        }
    }
}

fn unresolved_reference(span: Span, message: String) -> Finding {
    Finding::new(&UNRESOLVED_REFERENCE, message).primary(span, "")
}
