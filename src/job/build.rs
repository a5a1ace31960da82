//! Writes a job out: sections and steps of every procedure in it, in order.

use super::chain::Library;
use super::names::{Names, UnresolvedName, left};
use super::reverse::{self, Progress};
use super::shared::{SharedParts, WrittenPrefix};
use super::written::Written;
use super::{Job, JobItem, JobSection, JobStep, Phase, Prefix, Thing, hazards, places, rules};
use crate::cache::Fingerprint;
use crate::finding::{FileId, Finding, Findings};
use crate::procedure::{self, Procedure};
use crate::prose::{self, Verb};
use crate::shop::{Machine, Shop};
use crate::tree::{SourceKind, Tree};
use hazards::Met;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What all jobs are made from.
#[derive(Clone, Copy)]
pub(super) struct Build<'a, 'l> {
    pub(super) tree: &'a Tree,
    pub(super) shop: &'a Shop,
    pub(super) library: &'l Library<'a>,
}

/// The shop's own files, which have a part in every job.
pub(super) fn shared(tree: &Tree) -> Vec<FileId> {
    let shared = tree.files.iter().filter(|file| {
        !matches!(
            file.kind,
            SourceKind::Machine { .. } | SourceKind::Procedure { .. } | SourceKind::Fault { .. }
        )
    });
    shared.map(|file| file.id).collect()
}

impl<'a, 'l> Build<'a, 'l> {
    fn names(self, machine: &'a Machine) -> Names<'a, 'l> {
        Names {
            shop: self.shop,
            machine,
            library: self.library,
        }
    }

    /// Makes all the jobs that are asked for, and hands each to `take` when it is made.
    pub(super) fn all<T: Send>(
        self,
        asked: &[(&'a Procedure, &'a Machine)],
        unresolved: &mut Vec<UnresolvedName>,
        findings: &mut Findings,
        take: impl Fn(Job<'a>) -> T + Sync,
    ) -> Vec<T> {
        let files = shared(self.tree);
        let parts = SharedParts::new(self.library);
        let by_procedure: Vec<&[(&Procedure, &Machine)]> = asked
            .chunk_by(|(one, _), (other, _)| one.file == other.file)
            .collect();
        let made: Vec<(T, Vec<UnresolvedName>, Findings)> = by_procedure
            .into_par_iter()
            .flat_map_iter(|asked| {
                let (files, parts, take) = (&files, &parts, &take);
                let order = asked
                    .first()
                    .map(|(procedure, _)| self.library.order(procedure));
                let order = order.unwrap_or_default();
                asked.iter().map(move |(procedure, machine)| {
                    let (job, unresolved, findings) =
                        one(self, files, parts, &order, procedure, machine);
                    (take(job), unresolved, findings)
                })
            })
            .collect();
        let mut taken = Vec::with_capacity(made.len());
        for (one, its_unresolved, its_findings) in made {
            taken.push(one);
            unresolved.extend(its_unresolved);
            findings.extend(its_findings);
        }
        taken
    }
}

/// Writes out the procedures that come before jobs' own.
fn write_prefix<'a>(
    id: Fingerprint,
    build: Build<'a, '_>,
    parts: &SharedParts<'a>,
    begin: &[(Phase, &'a Procedure)],
    machine: &'a Machine,
) -> WrittenPrefix<'a> {
    let mut builder = JobBuilder::new(build, parts, machine);
    for (phase, part) in begin {
        builder.procedure(part, *phase);
    }
    let (mut met, mut next) = (Met::new(), 1);
    number(&mut builder.sections, &mut next);
    hazards::place(&mut builder.sections, build.shop, machine, &mut met);
    WrittenPrefix {
        id,
        sections: builder.sections.into_iter().map(Arc::new).collect(),
        sources: builder.sources,
        minutes: builder.minutes,
        is_whole: builder.is_whole,
        unresolved: builder.unresolved,
        findings: builder.findings,
        met,
        next,
    }
}

/// Makes one job. `order` is [`Library::order`] of its procedure.
pub(super) fn one<'a>(
    build: Build<'a, '_>,
    files: &[FileId],
    parts: &SharedParts<'a>,
    order: &[(Phase, &'a Procedure)],
    procedure: &'a Procedure,
    machine: &'a Machine,
) -> (Job<'a>, Vec<UnresolvedName>, Findings) {
    let Build {
        tree,
        shop,
        library,
    } = build;
    let mut builder = JobBuilder::new(build, parts, machine);
    let begins = order.partition_point(|(phase, _)| *phase == Phase::Begin);
    let (begin, rest) = order.split_at(begins);
    let is_shared = !begin.is_empty() && begin.iter().all(|(_, part)| part.is_for(machine.index));
    let write = |id| write_prefix(id, build, parts, begin, machine);
    let written = is_shared.then(|| parts.prefix(begin, machine, write));
    let (mut sections, mut met, mut next) = (Vec::new(), Met::new(), 1);
    let mut prefix = None;
    if let Some(written) = &written {
        sections.clone_from(&written.sections);
        met.clone_from(&written.met);
        next = written.next;
        builder.continue_from(written);
        prefix = Some(Prefix {
            id: written.id,
            sections: sections.len(),
        });
    }
    builder.sources.extend(files);
    builder.sources.insert(machine.file);
    for (phase, part) in if is_shared { rest } else { order } {
        if builder.is_for_machine(part, procedure) {
            builder.procedure(part, *phase);
        }
    }
    number(&mut builder.sections, &mut next);
    hazards::place(&mut builder.sections, shop, machine, &mut met);
    sections.extend(builder.sections.into_iter().map(Arc::new));
    let is_whole = builder.is_whole && builder.unresolved.is_empty() && machine.whole;
    let mut job = Job {
        shop,
        machine,
        procedure,
        sections,
        prefix,
        places: BTreeMap::new(),
        figures: BTreeMap::new(),
        left: left(procedure, machine),
        minutes: builder.minutes,
        sources: builder.sources,
        cures: Vec::new(),
        is_whole,
    };
    places::resolve(&mut job, library, tree, &mut builder.findings);
    (job, builder.unresolved, builder.findings)
}

struct JobBuilder<'a, 'l> {
    names: Names<'a, 'l>,
    shared: &'l SharedParts<'a>,
    sections: Vec<JobSection<'a>>,
    /// What comes before the sections, where other jobs begin with it too.
    prefix: Option<Arc<WrittenPrefix<'a>>>,
    sources: BTreeSet<FileId>,
    minutes: Option<u32>,
    is_whole: bool,
    unresolved: Vec<UnresolvedName>,
    findings: Findings,
}

impl<'a, 'l> JobBuilder<'a, 'l> {
    fn new(
        build: Build<'a, 'l>,
        shared: &'l SharedParts<'a>,
        machine: &'a Machine,
    ) -> JobBuilder<'a, 'l> {
        JobBuilder {
            names: build.names(machine),
            shared,
            sections: Vec::new(),
            prefix: None,
            sources: BTreeSet::new(),
            minutes: Some(0),
            is_whole: true,
            unresolved: Vec::new(),
            findings: Findings::new(),
        }
    }

    fn continue_from(&mut self, prefix: &Arc<WrittenPrefix<'a>>) {
        self.prefix = Some(Arc::clone(prefix));
        self.sources.extend(&prefix.sources);
        self.minutes = prefix.minutes;
        self.is_whole = prefix.is_whole;
        self.unresolved.clone_from(&prefix.unresolved);
        self.findings.clone_from(&prefix.findings);
    }

    /// The machine after all that is written out so far.
    fn progress(&self) -> Progress<'a> {
        let mut progress = match &self.prefix {
            Some(prefix) => (*self.shared.progress(prefix, self.names)).clone(),
            None => Progress::new(self.names.shop, self.names.machine),
        };
        for section in &self.sections {
            progress.advance(section);
        }
        progress
    }

    /// A procedure that is part of a job has to be for its machine, too.
    fn is_for_machine(&mut self, part: &'a Procedure, of: &'a Procedure) -> bool {
        let Machine {
            id: machine, index, ..
        } = self.names.machine;
        if part.is_for(*index) {
            return true;
        }
        self.is_whole = false;
        let message = format!(
            "`{}` is part of `{}` but not for `{machine}`",
            part.id, of.id
        );
        let its = part.machines.first().map_or(part.title.span, |id| id.span);
        let asked = of.machines.iter().find(|id| id.value == *index);
        let mut finding = Finding::new(&rules::NOT_FOR_MACHINE, message)
            .primary(its, format!("does not name `{machine}`"))
            .help(format!(
                "add `{machine}` to its `machines`, or take it out of the other's"
            ));
        if let Some(asked) = asked {
            finding = finding.secondary(asked.span, "asks for it");
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
        if let Some(written) = self.shared.written(procedure, self.names) {
            self.is_whole &= written.is_whole;
            self.unresolved.extend(written.unresolved.iter().cloned());
            self.write(procedure, written.steps.iter().cloned(), phase);
        } else {
            let written = Written::new(self.names, procedure);
            self.is_whole &= written.is_whole;
            self.unresolved.extend(written.unresolved);
            self.write(procedure, written.steps.into_iter(), phase);
        }
    }

    /// Writes a procedure's sections out, with all of its steps.
    fn write(
        &mut self,
        procedure: &'a Procedure,
        mut steps: impl Iterator<Item = Option<JobStep<'a>>>,
        phase: Phase,
    ) {
        for section in &procedure.sections {
            self.section(procedure, section, &mut steps, phase);
        }
    }

    /// Opens a section, or goes on with it.
    fn open(
        &mut self,
        section: &'a procedure::Section,
        is_continued: bool,
        origin: &'a Procedure,
        phase: Phase,
    ) {
        self.sections.push(JobSection {
            title: &section.title,
            is_continued,
            origin,
            phase,
            items: Vec::with_capacity(section.items.len()),
        });
    }

    fn put(&mut self, item: JobItem<'a>) {
        if let Some(section) = self.sections.last_mut() {
            section.items.push(item);
        }
    }

    /// Writes a section out, with the procedure's steps from the section's first on.
    fn section(
        &mut self,
        origin: &'a Procedure,
        section: &'a procedure::Section,
        steps: &mut impl Iterator<Item = Option<JobStep<'a>>>,
        phase: Phase,
    ) {
        self.open(section, false, origin, phase);
        let mut written = Vec::new();
        for item in &section.items {
            match item {
                procedure::Item::Text(block) => self.put(JobItem::Text(block)),
                procedure::Item::Figure(image) => self.put(JobItem::Figure(image)),
                procedure::Item::Step(_) => {
                    let Some(made) = steps.next().flatten() else {
                        continue;
                    };
                    if section.reverse {
                        self.do_stands_alone(&made, true);
                        written.push(made);
                        continue;
                    }
                    let Some(done) = done_procedure(&made) else {
                        self.put(JobItem::Step(made));
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
                    self.open(section, is_begun, origin, phase);
                }
            }
        }
        if section.reverse {
            let progress = self.progress();
            for step in reverse::derive(&progress, written, origin, section.span) {
                self.put(JobItem::Step(step));
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
    fn do_stands_alone(&mut self, step: &JobStep<'a>, is_way_back: bool) {
        let Some(action) = step.actions.iter().find(|action| action.verb == Verb::Do) else {
            return;
        };
        let is_words = |inline: &prose::Inline| match inline {
            prose::Inline::Text(text) => text.chars().any(char::is_alphanumeric),
            prose::Inline::Action(link, _) => link.verb != Verb::Do,
            prose::Inline::Break => false,
            _ => true,
        };
        let is_alone = step.actions.len() == 1
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
                .primary(action.span, "")
                .secondary(step.span, "the step")
                .help("give it a step of its own, with no other words, in a section that is written out"),
        );
    }
}

fn done_procedure<'a>(step: &JobStep<'a>) -> Option<&'a Procedure> {
    step.actions
        .iter()
        .find_map(|action| match (action.verb, action.thing) {
            (Verb::Do, Thing::Procedure(procedure)) => Some(procedure),
            _ => None,
        })
}

/// Numbers the steps, from `next` on.
fn number(sections: &mut [JobSection<'_>], next: &mut u32) {
    for section in sections {
        for item in &mut section.items {
            if let JobItem::Step(step) = item {
                step.number = *next;
                *next += 1;
            }
        }
    }
}
