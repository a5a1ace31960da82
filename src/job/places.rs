//! References become numbers and links, once all steps are numbered.

use super::chain::Library;
use super::{Item, Job, Place, Step, rules};
use crate::finding::{Finding, Findings, Located, Span, nearest};
use crate::procedure::Procedure;
use crate::prose::{self, Action, Block, Inline, Verb};
use crate::tree::Tree;
use std::collections::BTreeMap;

/// Where each reference and figure of the job leads.
pub(super) fn resolve<'a>(
    job: &mut Job<'a>,
    library: &Library<'a>,
    tree: &'a Tree,
    findings: &mut Findings,
) {
    let mut places = BTreeMap::new();
    let mut figures: BTreeMap<Span, &'a str> = BTreeMap::new();
    for reference in references(job) {
        let Reference { origin, .. } = reference;
        match reference.to {
            To::See(action) => {
                let finder = Finder {
                    job,
                    library,
                    tree,
                    origin,
                };
                match finder.find(&action.thing) {
                    Ok(place) => {
                        places.insert(action.span, place);
                    }
                    Err(finding) => findings.push(*finding),
                }
            }
            To::Figure(path) => match figure(tree, origin, path) {
                Ok(found) => {
                    figures.insert(path.span, found);
                }
                Err(finding) => findings.push(*finding),
            },
        }
    }
    job.places = places;
    job.figures = figures;
}

struct Reference<'p, 'a> {
    origin: &'a Procedure,
    to: To<'p>,
}

enum To<'p> {
    See(&'p Action),
    Figure(&'p Located<String>),
}

fn references<'p, 'a>(job: &'p Job<'a>) -> Vec<Reference<'p, 'a>> {
    let mut all = Vec::new();
    for block in &job.procedure.why {
        of_block(block, job.procedure, &mut all);
    }
    for section in &job.sections {
        let origin = section.origin;
        for item in &section.items {
            match item {
                Item::Text(block) => of_block(block, origin, &mut all),
                Item::Figure(image) => all.push(Reference {
                    origin,
                    to: To::Figure(&image.path),
                }),
                Item::Step(step) => {
                    of_inlines(&step.text, step.origin, &mut all);
                    for note in step.notes {
                        of_inlines(note, step.origin, &mut all);
                    }
                    all.extend(step.figures.iter().map(|image| Reference {
                        origin: step.origin,
                        to: To::Figure(&image.path),
                    }));
                }
            }
        }
    }
    all
}

fn of_block<'p, 'a>(block: &'p Block, origin: &'a Procedure, into: &mut Vec<Reference<'p, 'a>>) {
    match block {
        Block::Paragraph(inlines, _) => of_inlines(inlines, origin, into),
        Block::List(list) => {
            for item in &list.items {
                for block in &item.blocks {
                    of_block(block, origin, into);
                }
            }
        }
        Block::Heading(_) | Block::Quote(..) => {}
    }
}

fn of_inlines<'p, 'a>(
    inlines: &'p [Inline],
    origin: &'a Procedure,
    into: &mut Vec<Reference<'p, 'a>>,
) {
    let sees = prose::actions(inlines).filter(|action| action.verb == Verb::See);
    into.extend(sees.map(|action| Reference {
        origin,
        to: To::See(action),
    }));
}

struct Finder<'a, 'f> {
    job: &'f Job<'a>,
    library: &'f Library<'a>,
    tree: &'a Tree,
    origin: &'a Procedure,
}

impl<'a> Finder<'a, '_> {
    fn find(&self, thing: &Located<String>) -> Result<Place<'a>, Box<Finding>> {
        let parts: Vec<&str> = thing.value.split('/').collect();
        match parts.as_slice() {
            ["procedure", id] => {
                let found = self.library.find(id);
                let found = found.ok_or_else(|| nearest(id, self.library.ids()));
                self.on_machine("procedure", id, found, thing.span)
                    .map(Place::Procedure)
            }
            ["fault", id] => {
                let faults = self.library.faults();
                let found = faults.get(id).copied();
                let found = found.ok_or_else(|| nearest(id, faults.keys().copied()));
                self.on_machine("fault table", id, found, thing.span)
                    .map(Place::Fault)
            }
            ["step", id] => self.step(thing, |step| step.id == Some(*id)),
            ["step", verb, name] => {
                let Some(verb) = Verb::find(verb) else {
                    let known = Verb::ALL.iter().map(|verb| verb.word());
                    let message = format!("`{verb}` is not a verb to find a step by");
                    let nowhere = nowhere(thing.span, message);
                    return Err(Box::new(nowhere.near(nearest(verb, known))));
                };
                self.step(thing, |step| {
                    step.acts
                        .iter()
                        .any(|act| act.verb == verb && act.thing.key() == *name)
                })
            }
            ["figure", _, ..] => {
                let path = thing.value.trim_start_matches("figure/");
                let path = format!("figures/{path}");
                let found = self.tree.figure(&path);
                let known = self.tree.figures.iter().map(|figure| figure.path.as_str());
                found
                    .map(|figure| Place::Figure(&figure.path))
                    .ok_or_else(|| {
                        let nowhere = nowhere(thing.span, format!("there is no figure `{path}`"));
                        Box::new(nowhere.near(nearest(&path, known)))
                    })
            }
            _ => {
                let message = format!("`see:{}` does not say what to see", thing.value);
                Err(Box::new(nowhere(thing.span, message).help(
                    "it is `see:procedure/ID`, `see:fault/ID`, `see:step/ID`, \
                     `see:step/VERB/THING` or `see:figure/FILE`",
                )))
            }
        }
    }

    /// What was found, where it is for the job's machine; the near name where nothing was.
    fn on_machine(
        &self,
        word: &str,
        id: &str,
        found: Result<&'a Procedure, Option<&str>>,
        span: Span,
    ) -> Result<&'a Procedure, Box<Finding>> {
        let procedure = match found {
            Ok(procedure) => procedure,
            Err(near) => {
                let nowhere = nowhere(span, format!("there is no {word} `{id}`"));
                return Err(Box::new(nowhere.near(near)));
            }
        };
        let machine = &self.job.machine.id;
        if procedure.machines.iter().any(|one| one.value == *machine) {
            Ok(procedure)
        } else {
            let message = format!("`{id}` is not for `{machine}`, so there is nothing to see");
            Err(Box::new(nowhere(span, message).help(
                "keep the step to the machines that have it: `{only=\"…\"}`",
            )))
        }
    }

    /// The one step that `is` it: among those of the same procedure first.
    fn step(
        &self,
        thing: &Located<String>,
        is: impl Fn(&Step<'_>) -> bool,
    ) -> Result<Place<'a>, Box<Finding>> {
        let all: Vec<&Step<'_>> = self.job.steps().filter(|step| is(step)).collect();
        let own: Vec<&Step<'_>> = all
            .iter()
            .copied()
            .filter(|step| step.origin.id == self.origin.id)
            .collect();
        let found = if own.is_empty() { all } else { own };
        match found.as_slice() {
            [one] => Ok(Place::Step(one.number)),
            [] => {
                let ids = self.job.steps().filter_map(|step| step.id);
                let wanted = thing.value.trim_start_matches("step/");
                let message = format!("no step of this job is `{wanted}`");
                let nowhere = nowhere(thing.span, message);
                Err(Box::new(nowhere.near(nearest(wanted, ids))))
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

/// A figure's path from the tree's root, found from the file that names it.
fn figure<'a>(
    tree: &'a Tree,
    origin: &Procedure,
    path: &Located<String>,
) -> Result<&'a str, Box<Finding>> {
    let mut parts: Vec<&str> = origin.path.split('/').collect();
    parts.pop();
    for part in path.value.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                if parts.pop().is_none() {
                    return Err(outside(path));
                }
            }
            part => parts.push(part),
        }
    }
    if path.value.starts_with('/') || path.value.contains([':', '\\']) {
        return Err(outside(path));
    }
    let wanted = parts.join("/");
    if let Some(found) = tree.figure(&wanted) {
        return Ok(&found.path);
    }
    let known = tree.figures.iter().map(|figure| figure.path.as_str());
    let message = format!("there is no figure `{wanted}`");
    Err(Box::new(
        Finding::new(&rules::MISSING_FIGURE, message)
            .at(path.span, "")
            .near(nearest(&wanted, known)),
    ))
}

fn nowhere(span: Span, message: String) -> Finding {
    Finding::new(&rules::UNKNOWN_PLACE, message).at(span, "")
}

fn outside(path: &Located<String>) -> Box<Finding> {
    let message = format!("figure `{}` is not in the tree", path.value);
    Box::new(
        Finding::new(&rules::FIGURE_OUTSIDE_TREE, message)
            .at(path.span, "")
            .help("copy it into `figures/` and name it from here: `../figures/…`"),
    )
}
