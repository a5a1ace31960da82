//! Expands a job: the sections and steps of all its procedures, in order of execution.

use super::chain::{Library, Order};
use super::data::{Earlier, Job, JobItem, JobSection, JobStep, Phase, Prefix};
use super::figures::Shown;
use super::names::{Names, UnresolvedName, declared_left};
use super::progress::Progress;
use super::reverse;
use super::shared::{SharedParts, WrittenPrefix};
use super::written::Written;
use super::{follow_on, hazards, places, rules};
use crate::cache::Fingerprint;
use crate::finding::{FileId, Finding, Findings};
use crate::model::Thing;
use crate::procedure::{self, Procedure};
use crate::prose::{self, Verb};
use crate::shop::{Machine, Shop};
use crate::tree::{SourceKind, Tree};
use hazards::SeenCautions;
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The inputs of all jobs.
#[derive(Clone, Copy)]
pub(super) struct Build<'a, 'l> {
    pub(super) tree: &'a Tree,
    pub(super) shop: &'a Shop,
    pub(super) library: &'l Library<'a>,
}

/// The files that every job is made from: all but machines, procedures and fault tables.
pub(super) fn shop_files(tree: &Tree) -> Vec<FileId> {
    let files = tree.files.iter().filter(|file| {
        !matches!(
            file.kind,
            SourceKind::Machine { .. } | SourceKind::Procedure { .. } | SourceKind::Fault { .. }
        )
    });
    files.map(|file| file.id).collect()
}

impl<'a, 'l> Build<'a, 'l> {
    fn names(self, machine: &'a Machine) -> Names<'a, 'l> {
        Names {
            shop: self.shop,
            machine,
            library: self.library,
        }
    }

    /// Makes the requested jobs in parallel, and passes each to `take` as soon as it is made. Requests for the
    /// same procedure must be adjacent. The results are in order of the requests.
    pub(super) fn make_all<T: Send>(
        self,
        requests: &[(&'a Procedure, &'a Machine)],
        unresolved: &mut Vec<UnresolvedName>,
        findings: &mut Findings,
        take: impl Fn(Job<'a>) -> T + Sync,
    ) -> Vec<T> {
        let files = shop_files(self.tree);
        let parts = SharedParts::new(self.library);
        let by_procedure: Vec<&[(&Procedure, &Machine)]> = requests
            .chunk_by(|(previous, _), (next, _)| previous.file == next.file)
            .collect();
        let made: Vec<(T, Vec<UnresolvedName>, Findings)> = by_procedure
            .into_par_iter()
            .flat_map_iter(|requests| {
                let (files, parts, take) = (&files, &parts, &take);
                let order = requests
                    .first()
                    .map(|(procedure, _)| self.library.order(procedure, false));
                requests.iter().map(move |(procedure, machine)| {
                    let (job, unresolved, findings) =
                        make_job(self, files, parts, order.as_ref(), procedure, machine);
                    (take(job), unresolved, findings)
                })
            })
            .collect();
        let mut results = Vec::with_capacity(made.len());
        for (result, job_unresolved, job_findings) in made {
            results.push(result);
            unresolved.extend(job_unresolved);
            findings.extend(job_findings);
        }
        results
    }
}

/// Expands the `begin` procedures of jobs on a machine.
fn write_prefix<'a>(
    id: Fingerprint,
    build: Build<'a, '_>,
    parts: &SharedParts<'a>,
    begin: &[(Phase, &'a Procedure)],
    machine: &'a Machine,
) -> WrittenPrefix<'a> {
    let mut builder = JobBuilder::new(build, parts, machine);
    for (phase, procedure) in begin {
        builder.add_procedure(procedure, *phase);
    }
    let (mut seen, mut next_number) = (SeenCautions::new(), 1);
    number_steps(&mut builder.sections, &mut next_number);
    hazards::place(&mut builder.sections, build.shop, machine, &mut seen);
    WrittenPrefix {
        id,
        sections: builder.sections.into_iter().map(Arc::new).collect(),
        sources: builder.sources,
        minutes: builder.minutes,
        is_complete: builder.is_complete,
        unresolved: builder.unresolved,
        findings: builder.findings,
        seen,
        next_number,
    }
}

/// Expands what was done on another sheet before a job, if its procedure reverses another. What is found in it is reported
/// with that sheet.
fn make_earlier<'a>(
    build: Build<'a, '_>,
    parts: &SharedParts<'a>,
    order: &[(Phase, &'a Procedure)],
    machine: &'a Machine,
) -> Option<(Earlier<'a>, WrittenPrefix<'a>)> {
    let (_, procedure) = order.last()?;
    let mut written = write_prefix(Fingerprint::of(&()), build, parts, order, machine);
    written.is_complete &= written.unresolved.is_empty();
    let earlier = Earlier {
        procedure,
        sections: std::mem::take(&mut written.sections),
    };
    Some((earlier, written))
}

/// Makes one job. `order` is the result of [`Library::order`] for a procedure that no other continues; it is found if it is
/// not given.
pub(super) fn make_job<'a>(
    build: Build<'a, '_>,
    files: &[FileId],
    parts: &SharedParts<'a>,
    order: Option<&Order<'a>>,
    procedure: &'a Procedure,
    machine: &'a Machine,
) -> (Job<'a>, Vec<UnresolvedName>, Findings) {
    let Build {
        tree,
        shop,
        library,
    } = build;
    let continued_in = library.continued_in(procedure, machine.index);
    let own_order;
    let order = if let Some(order) = order.filter(|_| continued_in.is_none()) {
        order
    } else {
        own_order = library.order(procedure, continued_in.is_some());
        &own_order
    };
    let Order {
        earlier: earlier_order,
        steps: order,
    } = order;
    let mut builder = JobBuilder::new(build, parts, machine);
    if let Some((_, reversed)) = earlier_order.last()
        && builder.check_machine(reversed, procedure)
        && let Some((earlier, written)) = make_earlier(build, parts, earlier_order, machine)
    {
        builder.sources.extend(&written.sources);
        builder.is_complete &= written.is_complete;
        builder.earlier = Some(earlier);
    }
    let begin_count = order.partition_point(|(phase, _)| *phase == Phase::Begin);
    let (begin, rest) = order.split_at(begin_count);
    let is_shared = !begin.is_empty()
        && earlier_order.is_empty()
        && begin
            .iter()
            .all(|(_, procedure)| procedure.is_for(machine.index));
    let write = |id| write_prefix(id, build, parts, begin, machine);
    let written = is_shared.then(|| parts.prefix(begin, machine, write));
    let (mut sections, mut seen, mut next_number) = (Vec::new(), SeenCautions::new(), 1);
    let mut prefix = None;
    if let Some(written) = &written {
        sections.clone_from(&written.sections);
        seen.clone_from(&written.seen);
        next_number = written.next_number;
        builder.continue_from(written);
        prefix = Some(Prefix {
            id: written.id,
            sections: sections.len(),
        });
    }
    builder.sources.extend(files);
    builder.sources.extend(&machine.files);
    for (phase, part) in if is_shared { rest } else { order } {
        if builder.check_machine(part, procedure) {
            builder.add_procedure(part, *phase);
        }
    }
    number_steps(&mut builder.sections, &mut next_number);
    hazards::place(&mut builder.sections, shop, machine, &mut seen);
    sections.extend(builder.sections.into_iter().map(Arc::new));
    let is_complete = builder.is_complete && builder.unresolved.is_empty() && machine.is_complete;
    let mut job = Job {
        shop,
        machine,
        procedure,
        sections,
        prefix,
        earlier: builder.earlier,
        continued_in,
        places: BTreeMap::new(),
        figures: BTreeMap::new(),
        shown: Shown::default(),
        left_undone: declared_left(procedure, machine),
        follow_on: follow_on::of(library, procedure, machine),
        minutes: builder.minutes,
        sources: builder.sources,
        remedied_faults: Vec::new(),
        is_complete,
    };
    places::resolve(&mut job, library, tree, &mut builder.findings);
    job.shown = Shown::of(&job);
    (job, builder.unresolved, builder.findings)
}

struct JobBuilder<'a, 'l> {
    names: Names<'a, 'l>,
    shared: &'l SharedParts<'a>,
    sections: Vec<JobSection<'a>>,
    /// What was done on another sheet, which comes before everything else.
    earlier: Option<Earlier<'a>>,
    /// The shared prefix, which comes before `sections`.
    prefix: Option<Arc<WrittenPrefix<'a>>>,
    sources: BTreeSet<FileId>,
    minutes: Option<u32>,
    is_complete: bool,
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
            earlier: None,
            prefix: None,
            sources: BTreeSet::new(),
            minutes: Some(0),
            is_complete: true,
            unresolved: Vec::new(),
            findings: Findings::new(),
        }
    }

    fn continue_from(&mut self, prefix: &Arc<WrittenPrefix<'a>>) {
        self.prefix = Some(Arc::clone(prefix));
        self.sources.extend(&prefix.sources);
        self.minutes = prefix.minutes;
        self.is_complete = prefix.is_complete;
        self.unresolved.clone_from(&prefix.unresolved);
        self.findings.clone_from(&prefix.findings);
    }

    /// The state of the machine after all sections so far.
    fn progress(&self) -> Progress<'a> {
        let mut progress = match &self.prefix {
            Some(prefix) => (*self.shared.progress(prefix, self.names)).clone(),
            None => Progress::new(self.names.shop, self.names.machine),
        };
        if let Some(earlier) = &self.earlier {
            progress.advance_all(&earlier.sections);
        }
        for section in &self.sections {
            progress.advance(section);
        }
        progress
    }

    /// Whether a procedure that is part of a job is for the job's machine. Reports it if not.
    fn check_machine(&mut self, part: &'a Procedure, of: &'a Procedure) -> bool {
        let Machine {
            id: machine, index, ..
        } = self.names.machine;
        if part.is_for(*index) {
            return true;
        }
        self.is_complete = false;
        let message = format!(
            "`{}` is part of `{}` but not for `{machine}`",
            part.id, of.id
        );
        let machines_field = part.machines.first().map_or(part.title.span, |id| id.span);
        let request = of.machines.iter().find(|id| id.value == *index);
        let mut finding = Finding::new(&rules::PROCEDURE_NOT_FOR_MACHINE, message)
            .primary(machines_field, format!("does not name `{machine}`"))
            .help(format!(
                "add `{machine}` to its `machines`, or remove it from the other procedure"
            ));
        if let Some(request) = request {
            finding = finding.secondary(request.span, "included here");
        }
        self.findings.push(finding);
        false
    }

    fn add_procedure(&mut self, procedure: &'a Procedure, phase: Phase) {
        self.sources.insert(procedure.file);
        self.minutes = self
            .minutes
            .zip(procedure.minutes)
            .map(|(sum, minutes)| sum + minutes);
        if let Some(written) = self.shared.written(procedure, self.names) {
            self.is_complete &= written.is_complete;
            self.unresolved.extend(written.unresolved.iter().cloned());
            self.add_sections(procedure, written.steps.iter().cloned(), phase);
        } else {
            let written = Written::new(self.names, procedure);
            self.is_complete &= written.is_complete;
            self.unresolved.extend(written.unresolved);
            self.add_sections(procedure, written.steps.into_iter(), phase);
        }
    }

    /// Appends the sections of a procedure. `steps` are all of its steps, in order.
    fn add_sections(
        &mut self,
        procedure: &'a Procedure,
        mut steps: impl Iterator<Item = Option<JobStep<'a>>>,
        phase: Phase,
    ) {
        for section in &procedure.sections {
            self.add_section(procedure, section, &mut steps, phase);
        }
    }

    /// Appends an empty section. `is_continued` is [`JobSection::is_continued`].
    fn open_section(
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
            derived_at: section.reverse.then_some(section.span),
            pair: if section.reverse {
                self.names.library.pair_files(origin)
            } else {
                Vec::new()
            },
            is_inspection: section.inspection,
            items: Vec::with_capacity(section.items.len()),
        });
    }

    fn push_item(&mut self, item: JobItem<'a>) {
        if let Some(section) = self.sections.last_mut() {
            section.items.push(item);
        }
    }

    /// Appends a section. `steps` yields the procedure's remaining steps, the first of this section first.
    fn add_section(
        &mut self,
        origin: &'a Procedure,
        section: &'a procedure::Section,
        steps: &mut impl Iterator<Item = Option<JobStep<'a>>>,
        phase: Phase,
    ) {
        self.open_section(section, false, origin, phase);
        let mut written = Vec::new();
        for item in &section.items {
            match item {
                procedure::Item::Text(block) => self.push_item(JobItem::Text(block)),
                procedure::Item::Figure(image) => self.push_item(JobItem::Figure(image)),
                procedure::Item::Step(_) => {
                    let Some(step) = steps.next().flatten() else {
                        continue;
                    };
                    if section.reverse {
                        self.check_do_is_alone(&step, true);
                        written.push(step);
                        continue;
                    }
                    let Some(done) = done_procedure(&step) else {
                        self.push_item(JobItem::Step(step));
                        continue;
                    };
                    // The procedure's sections replace the step, and split this section in two.
                    self.check_do_is_alone(&step, false);
                    let has_items = self
                        .sections
                        .last()
                        .is_some_and(|last| !last.items.is_empty());
                    if !has_items {
                        self.sections.pop();
                    }
                    if self.check_machine(done, origin) {
                        self.add_procedure(done, phase);
                    }
                    self.open_section(section, has_items, origin, phase);
                }
            }
        }
        if section.reverse {
            let progress = self.progress();
            let pair = self.sections.last().map(|last| last.pair.clone());
            let pair = pair.unwrap_or_default();
            for step in reverse::derive(&progress, written, origin, &pair, section.span) {
                self.push_item(JobItem::Step(step));
            }
        }
        // A `do:` at the end of the section sheets its second half empty.
        if self
            .sections
            .last()
            .is_some_and(|last| last.items.is_empty())
        {
            self.sections.pop();
        }
    }

    /// Reports a `do:` that shares its step with other content, which would be lost because the procedure
    /// replaces the step. A derived section can't have a `do:` at all.
    fn check_do_is_alone(&mut self, step: &JobStep<'a>, is_derived: bool) {
        let Some(action) = step.actions.iter().find(|action| action.verb == Verb::Do) else {
            return;
        };
        let is_content = |inline: &prose::Inline| match inline {
            prose::Inline::Text(text) => text.chars().any(char::is_alphanumeric),
            prose::Inline::Action(link, _) => link.verb != Verb::Do,
            prose::Inline::Break => false,
            _ => true,
        };
        let is_alone = step.actions.len() == 1
            && step.above.is_empty()
            && step.notes.is_empty()
            && step.figures.is_empty()
            && step.cautions.is_empty()
            && step.id.is_none()
            && !step.text.iter().any(is_content);
        if is_alone && !is_derived {
            return;
        }
        let message = if is_derived {
            "a `do:` is in a derived section"
        } else {
            "a `do:` shares its step with other content"
        };
        self.findings.push(
            Finding::new(&rules::MISPLACED_DO, message)
                .primary(action.span, "")
                .secondary(step.span, "the step")
                .help("give it a step of its own, without other text, in a section without `{.reverse}`"),
        );
    }
}

/// The procedure that a `do:` of the step names.
fn done_procedure<'a>(step: &JobStep<'a>) -> Option<&'a Procedure> {
    step.actions
        .iter()
        .find_map(|action| match (action.verb, action.thing) {
            (Verb::Do, Thing::Procedure(procedure)) => Some(procedure),
            _ => None,
        })
}

/// Numbers the steps from `next_number`, which becomes the number after the last step.
fn number_steps(sections: &mut [JobSection<'_>], next_number: &mut u32) {
    for section in sections {
        for item in &mut section.items {
            if let JobItem::Step(step) = item {
                step.number = *next_number;
                *next_number += 1;
            }
        }
    }
}
