//! Writes a job out: sections and steps of every procedure in it, in order.

use super::chain::Library;
use super::names::{Lack, Names};
use super::reverse::{self, Ledger};
use super::{Act, Item, Job, Phase, Section, Step, Thing, hazards, places, rules};
use crate::finding::{FileId, Finding, Findings, nearest};
use crate::procedure::{self, Procedure};
use crate::prose::{self, Action, Verb};
use crate::shop::{Machine, Shop};
use crate::tree::{Kind, Tree};
use rayon::prelude::*;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// What all jobs are made from.
#[derive(Clone, Copy)]
pub(super) struct Build<'a, 'l> {
    pub(super) tree: &'a Tree,
    pub(super) shop: &'a Shop,
    pub(super) library: &'l Library<'a>,
    /// The shop's own files, which have a part in every job.
    pub(super) shared: &'l [FileId],
}

/// The shop's own files.
pub(super) fn shared(tree: &Tree) -> Vec<FileId> {
    let shared = tree.files.iter().filter(|file| {
        !matches!(
            file.kind,
            Kind::Machine { .. } | Kind::Procedure { .. } | Kind::Fault { .. }
        )
    });
    shared.map(|file| file.id).collect()
}

impl<'a> Build<'a, '_> {
    /// Makes all the jobs that are asked for, and hands each to `take` when it is made.
    pub(super) fn all<T: Send>(
        self,
        asked: &[(&'a Procedure, &'a Machine)],
        lacks: &mut Vec<Lack>,
        findings: &mut Findings,
        take: impl Fn(Job<'a>) -> T + Sync,
    ) -> Vec<T> {
        let made: Vec<(T, Vec<Lack>, Findings)> = asked
            .par_iter()
            .map(|(procedure, machine)| {
                let (job, lacks, findings) = self.one(procedure, machine);
                (take(job), lacks, findings)
            })
            .collect();
        let mut taken = Vec::with_capacity(made.len());
        for (one, its_lacks, its_findings) in made {
            taken.push(one);
            lacks.extend(its_lacks);
            findings.extend(its_findings);
        }
        taken
    }

    /// Makes one job.
    pub(super) fn one(
        self,
        procedure: &'a Procedure,
        machine: &'a Machine,
    ) -> (Job<'a>, Vec<Lack>, Findings) {
        let Build {
            tree,
            shop,
            library,
            shared,
        } = self;
        let mut builder = Builder {
            names: Names {
                shop,
                machine,
                library,
            },
            sections: Vec::new(),
            ledger: Ledger::default(),
            sources: BTreeSet::new(),
            minutes: Some(0),
            is_whole: true,
            lacks: Vec::new(),
            findings: Findings::new(),
        };
        builder.sources.extend(shared);
        builder.sources.insert(machine.file);
        for (phase, part) in library.order(procedure) {
            if builder.is_for_machine(part, procedure) {
                builder.procedure(part, phase);
            }
        }
        let is_whole = builder.is_whole && builder.lacks.is_empty() && machine.whole;
        let mut job = Job {
            shop,
            machine,
            procedure,
            sections: builder.sections,
            places: BTreeMap::new(),
            figures: BTreeMap::new(),
            minutes: builder.minutes,
            sources: builder.sources,
            cures: Vec::new(),
            is_whole,
        };
        number(&mut job);
        hazards::place(&mut job);
        places::resolve(&mut job, library, tree, &mut builder.findings);
        (job, builder.lacks, builder.findings)
    }
}

struct Builder<'a, 'l> {
    names: Names<'a, 'l>,
    sections: Vec<Section<'a>>,
    /// What has been undone so far: the way back starts from it.
    ledger: Ledger<'a>,
    sources: BTreeSet<FileId>,
    minutes: Option<u32>,
    is_whole: bool,
    lacks: Vec<Lack>,
    findings: Findings,
}

impl<'a> Builder<'a, '_> {
    /// A procedure that is part of a job has to be for its machine, too.
    fn is_for_machine(&mut self, part: &'a Procedure, of: &'a Procedure) -> bool {
        let machine = &self.names.machine.id;
        if part.machines.iter().any(|id| id.value == *machine) {
            return true;
        }
        self.is_whole = false;
        let message = format!(
            "`{}` is part of `{}` but not for `{machine}`",
            part.id, of.id
        );
        let its = part.machines.first().map_or(part.title.span, |id| id.span);
        let asked = of.machines.iter().find(|id| id.value == *machine);
        let mut finding = Finding::new(&rules::NOT_FOR_MACHINE, message)
            .at(its, format!("does not name `{machine}`"))
            .help(format!(
                "add `{machine}` to its `machines`, or take it out of the other's"
            ));
        if let Some(asked) = asked {
            finding = finding.and(asked.span, "asks for it");
        }
        self.findings.push(finding);
        false
    }

    fn procedure(&mut self, procedure: &'a Procedure, phase: Phase) {
        self.sources.insert(procedure.file);
        self.minutes = self
            .minutes
            .zip(procedure.minutes)
            .map(|(sum, minutes)| sum + minutes);
        for section in &procedure.sections {
            self.section(procedure, section, phase);
        }
    }

    fn open(&mut self, title: String, is_continued: bool, origin: &'a Procedure, phase: Phase) {
        self.sections.push(Section {
            title,
            is_continued,
            origin,
            phase,
            items: Vec::new(),
        });
    }

    fn put(&mut self, item: Item<'a>) {
        if let Some(section) = self.sections.last_mut() {
            section.items.push(item);
        }
    }

    fn section(&mut self, origin: &'a Procedure, section: &'a procedure::Section, phase: Phase) {
        self.open(section.title.clone(), false, origin, phase);
        let mut written = Vec::new();
        for item in &section.items {
            match item {
                procedure::Item::Text(block) => self.put(Item::Text(block)),
                procedure::Item::Figure(image) => self.put(Item::Figure(image)),
                procedure::Item::Step(step) => {
                    let Some(made) = self.step(origin, step) else {
                        continue;
                    };
                    if section.reverse {
                        self.do_stands_alone(&made, true);
                        written.push(made);
                        continue;
                    }
                    let Some(done) = done_procedure(&made) else {
                        self.ledger.note(&made);
                        self.put(Item::Step(Box::new(made)));
                        continue;
                    };
                    // The step gives way to what is done.
                    self.do_stands_alone(&made, false);
                    let is_begun = self
                        .sections
                        .last()
                        .is_some_and(|last| !last.items.is_empty());
                    if !is_begun {
                        self.sections.pop();
                    }
                    if self.is_for_machine(done, origin) {
                        self.procedure(done, phase);
                    }
                    self.open(section.title.clone(), is_begun, origin, phase);
                }
            }
        }
        if section.reverse {
            for step in reverse::derive(&mut self.ledger, written, origin, section.span) {
                self.put(Item::Step(Box::new(step)));
            }
        }
        // What a `do` at the section's end left open without a word in it.
        if self
            .sections
            .last()
            .is_some_and(|last| last.items.is_empty())
        {
            self.sections.pop();
        }
    }

    /// Whatever shares a step with `do` would be lost, because the step gives way to what is done.
    fn do_stands_alone(&mut self, step: &Step<'a>, is_way_back: bool) {
        let Some(act) = step.acts.iter().find(|act| act.verb == Verb::Do) else {
            return;
        };
        let is_words = |inline: &prose::Inline| match inline {
            prose::Inline::Text(text) => text.chars().any(char::is_alphanumeric),
            prose::Inline::Action(action, _) => action.verb != Verb::Do,
            prose::Inline::Break => false,
            _ => true,
        };
        let is_alone = step.acts.len() == 1
            && step.notes.is_empty()
            && step.figures.is_empty()
            && step.cautions.is_empty()
            && step.id.is_none()
            && !step.text.iter().any(is_words);
        if is_alone && !is_way_back {
            return;
        }
        let what = if is_way_back {
            "a `do:` stands in a way back that is derived"
        } else {
            "a `do:` shares its step with something else"
        };
        self.findings.push(
            Finding::new(&rules::DO_NOT_ALONE, what)
                .at(act.span, "")
                .and(step.span, "the step")
                .help("give it a step of its own, with no other words, in a section that is written out"),
        );
    }

    fn step(&mut self, origin: &'a Procedure, step: &'a procedure::Step) -> Option<Step<'a>> {
        let machine = &self.names.machine.id;
        for only in &step.only {
            if !self.names.shop.machines.contains_key(&only.value) {
                let known = self.names.shop.machines.keys().map(String::as_str);
                let message = format!("there is no machine `{}` to keep a step to", only.value);
                self.findings.push(
                    Finding::new(&rules::UNKNOWN_THING, message)
                        .at(only.span, "")
                        .near(nearest(&only.value, known)),
                );
            }
        }
        let kept = step.only.is_empty() || step.only.iter().any(|only| only.value == *machine);
        if !kept {
            return None;
        }
        if step.if_fitted && !self.names.is_fitted(step.actions()) {
            // What no machine at all has is a slip of the pen, and would take the step with it everywhere.
            for action in step.actions() {
                if !self.names.is_known_anywhere(action) {
                    self.names.resolve(action, &mut self.lacks);
                }
            }
            return None;
        }
        let acts = step.actions().map(|action| self.act(action)).collect();
        let cautions = step
            .cautions
            .iter()
            .filter_map(|action| match self.names.resolve(action, &mut self.lacks) {
                Thing::Caution(caution) => Some(caution),
                _ => None,
            })
            .collect();
        Some(Step {
            number: 0,
            origin,
            id: step.id.as_ref().map(|id| id.value.as_str()),
            cautions,
            text: Cow::Borrowed(&step.text),
            notes: &step.notes,
            figures: &step.figures,
            acts,
            span: step.span,
            excuses: &step.excuses,
            derived: false,
        })
    }

    fn act(&mut self, action: &'a Action) -> Act<'a> {
        let thing = self.names.resolve(action, &mut self.lacks);
        let run = &self.names.machine.run;
        let instruction = match action.verb {
            Verb::Run => run.start.as_deref(),
            Verb::Stop => run.stop.as_deref(),
            _ => None,
        };
        let inner = instruction
            .into_iter()
            .flat_map(prose::actions)
            .map(|action| Act {
                verb: action.verb,
                thing: self.names.resolve(action, &mut self.lacks),
                span: action.span,
                seat: None,
                stage: None,
                inner: Vec::new(),
            })
            .collect();
        Act {
            verb: action.verb,
            seat: self.names.seat(action, thing, &mut self.lacks),
            stage: self.names.stage(action, thing, &mut self.lacks),
            thing,
            span: action.span,
            inner,
        }
    }
}

fn done_procedure<'a>(step: &Step<'a>) -> Option<&'a Procedure> {
    step.acts
        .iter()
        .find_map(|act| match (act.verb, act.thing) {
            (Verb::Do, Thing::Procedure(procedure)) => Some(procedure),
            _ => None,
        })
}

fn number(job: &mut Job<'_>) {
    let mut next = 1;
    for section in &mut job.sections {
        for item in &mut section.items {
            if let Item::Step(step) = item {
                step.number = next;
                next += 1;
            }
        }
    }
}
