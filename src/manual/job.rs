//! The chapters of procedures, by system: each procedure's own steps, for each of its machines.

use super::book::{Chapter, ManualPiece};
use super::writer::{
    Book, Causes, JobAndRehearsal, Uses, caution_uses, chapter, heading, job_id, job_place,
    record_uses,
};
use crate::job::{Job, JobStep};
use crate::page::text::minutes;
use crate::page::{Block, Fact, JobId, LinkTarget, map_links_of_blocks};
use crate::procedure::Procedure;
use crate::prose;
use crate::sheet::{Given, JobDocument, View};
use crate::shop::capitalised;
use std::collections::{BTreeMap, BTreeSet};

/// A group of adjacent sections of a job, as indices of the job's sections.
enum SectionGroup<'a> {
    /// Printed with the job.
    Here(Vec<usize>),
    /// Sections of another procedure, which prints them in its own chapter.
    Elsewhere(&'a Procedure, Vec<usize>),
}

impl<'b, 'a> Book<'b, 'a> {
    pub(super) fn procedures(&self, causes: &Causes, uses: &mut Uses) -> Vec<Chapter> {
        let part = self.word("procedures");
        let mut chapters = Vec::new();
        for (folder, procedures) in self.systems() {
            let system = self.shop.system_title(folder);
            for (index, jobs) in procedures.into_iter().enumerate() {
                let mut opening = Vec::new();
                if chapters.is_empty() {
                    opening.push(heading(1, part.clone(), []));
                }
                if index == 0 {
                    opening.push(heading(2, system.clone(), []));
                }
                chapters.extend(self.procedure(&system, opening, &jobs, causes, uses));
            }
        }
        chapters
    }

    /// The chapters of a procedure, one for each machine, under a bar with the machine's name. A step never has the
    /// values of several machines.
    fn procedure(
        &self,
        system: &str,
        opening: Vec<ManualPiece>,
        jobs: &[JobAndRehearsal<'b, 'a>],
        causes: &Causes,
        uses: &mut Uses,
    ) -> Vec<Chapter> {
        let Some((first, _)) = jobs.first() else {
            return Vec::new();
        };
        let procedure = first.procedure;
        let documents = jobs
            .iter()
            .map(|(job, rehearsal)| JobDocument::new(job, rehearsal, self.output));
        let documents: Vec<JobDocument<'_, 'a>> = documents.collect();
        let why = self.why_of_all(&documents);
        let mut opening = Some(opening);
        let mut chapters = Vec::new();
        for document in &documents {
            let job = document.job;
            let is_first = opening.is_some();
            let mut pieces = opening.take().unwrap_or_default();
            let is_alone = !self.on_several_machines.contains(procedure.id.as_str());
            if is_first {
                let mut places = vec![LinkTarget::procedure(&procedure.id)];
                places.extend(is_alone.then(|| job_place(job)));
                pieces.push(ManualPiece::Heading {
                    level: 3,
                    listed: true,
                    title: procedure.title.value.clone(),
                    places,
                });
                pieces.push(self.facts(procedure, is_alone.then_some(job)));
                pieces.extend(
                    why.clone()
                        .filter(|why| !why.is_empty())
                        .map(blocks(4, None)),
                );
            }
            if !is_alone {
                pieces.push(heading(4, job.machine.name.value.clone(), [job_place(job)]));
                pieces.extend(
                    self.time(job)
                        .map(|fact| ManualPiece::Facts { facts: vec![fact] }),
                );
            }
            let level = if is_alone { 4 } else { 5 };
            pieces.extend(self.job(level, document, why.is_none(), causes, uses));
            let inner = format!("{system} · {}", procedure.title.value);
            let machine = job.machine.name.value.clone();
            chapters.push(Chapter {
                has_columns: true,
                ..chapter(system, machine, inner, pieces)
            });
        }
        chapters
    }

    fn facts(&self, procedure: &Procedure, job: Option<&Job<'_>>) -> ManualPiece {
        let mut facts: Vec<Fact> = job.and_then(|job| self.time(job)).into_iter().collect();
        let intervals = self.context().intervals(procedure);
        facts.extend((!intervals.is_empty()).then(|| Fact {
            label: self.word("interval"),
            text: intervals.join("; "),
        }));
        let revised = procedure.revised.as_ref();
        let revised = revised.map_or_else(String::new, |day| format!(", {day}"));
        facts.push(Fact {
            label: self.word("revision"),
            text: format!("{}{revised}", procedure.revision),
        });
        ManualPiece::Facts { facts }
    }

    fn time(&self, job: &Job<'_>) -> Option<Fact> {
        Some(Fact {
            label: self.word("time-allowed"),
            text: self.words().own(&minutes(job.minutes?)).into_owned(),
        })
    }

    /// Why the procedure is done, if the text is the same on all of its machines; otherwise `None`.
    fn why_of_all(&self, documents: &[JobDocument<'_, 'a>]) -> Option<Vec<Block>> {
        let none = BTreeMap::new();
        // A text about several machines links to the procedure, not to the job on one machine.
        let resolve = |target: &LinkTarget| match target {
            LinkTarget::Job(job) if documents.len() > 1 && self.jobs.contains_key(job) => {
                Some(LinkTarget::procedure(&job.procedure))
            }
            _ => self.resolve(target, &none),
        };
        let mut texts = documents
            .iter()
            .map(|document| map_links_of_blocks(document.why.clone(), &resolve));
        let first = texts.next()?;
        texts.all(|why| why == first).then_some(first)
    }

    /// The pieces of a job, without its heading.
    fn job(
        &self,
        level: u8,
        document: &JobDocument<'_, 'a>,
        has_why: bool,
        causes: &Causes,
        uses: &mut Uses,
    ) -> Vec<ManualPiece> {
        let job = document.job;
        let groups = self.section_groups(job);
        let steps = self.step_places(job, &groups);
        let about = blocks(level, Some(job_place(job)));
        let piece = |blocks| about(self.blocks(blocks, &steps));

        let mut pieces = Vec::new();
        if has_why {
            pieces.push(piece(document.why.clone()));
        }
        pieces.extend(document.protection.clone().map(|block| piece(vec![block])));
        pieces.extend(caution_uses(&[job]));
        pieces.extend(self.needs(document, causes, &steps));
        // The chapter on safety has all messages in full, and each job lists those that it meets.
        let mut given = Given::in_full(document.messages());
        for group in &groups {
            match group {
                SectionGroup::Here(sections) => {
                    for index in sections {
                        for step in job.sections[*index].steps() {
                            record_uses(uses, job, step, &step_place(job_id(job), step.number));
                        }
                    }
                    let sections = sections.iter().filter_map(|index| {
                        let section = document.sections.get(*index)?;
                        section.view(View::Book, self.context(), &mut given)
                    });
                    pieces.push(piece(sections.collect()));
                }
                SectionGroup::Elsewhere(origin, sections) => {
                    pieces.extend(self.elsewhere(job, origin, sections));
                }
            }
        }
        pieces.extend(document.left_undone.clone().map(|block| piece(vec![block])));
        pieces
    }

    /// Groups the job's sections by where the manual prints them.
    fn section_groups(&self, job: &Job<'a>) -> Vec<SectionGroup<'a>> {
        let mut groups: Vec<SectionGroup<'a>> = Vec::new();
        let mut elsewhere: BTreeMap<&str, bool> = BTreeMap::new();
        for (index, section) in job.sections.iter().enumerate() {
            let origin = section.origin;
            let is_elsewhere = *elsewhere
                .entry(origin.id.as_str())
                .or_insert_with(|| self.is_printed_elsewhere(job, origin));
            match (groups.last_mut(), is_elsewhere) {
                (Some(SectionGroup::Here(sections)), false) => sections.push(index),
                (Some(SectionGroup::Elsewhere(last, sections)), true) if last.id == origin.id => {
                    sections.push(index);
                }
                (_, true) => groups.push(SectionGroup::Elsewhere(origin, vec![index])),
                (_, false) => groups.push(SectionGroup::Here(vec![index])),
            }
        }
        groups
    }

    /// Whether the steps that a job has from another procedure read the same, one by one, in that
    /// procedure's own job on the machine. Steps that put back or restore depend on the job and may
    /// differ.
    fn is_printed_elsewhere(&self, job: &Job<'a>, origin: &Procedure) -> bool {
        if origin.id == job.procedure.id {
            return false;
        }
        let Some(origin_job) = self.origin_job(job, origin) else {
            return false;
        };
        let here: Vec<&JobStep<'_>> = steps_from(job, origin).collect();
        let there: Vec<&JobStep<'_>> = steps_from(origin_job, origin).collect();
        here.len() == there.len()
            && here
                .iter()
                .zip(&there)
                .all(|(left, right)| reads_the_same(left, right))
    }

    /// The job of another procedure on this job's machine, if the manual has it.
    fn origin_job(&self, job: &Job<'a>, origin: &Procedure) -> Option<&'b Job<'a>> {
        let id = JobId::new(&job.machine.id, &origin.id);
        self.jobs.get(&id).copied()
    }

    /// The link target in the manual of each step of a job.
    fn step_places(&self, job: &Job<'a>, groups: &[SectionGroup<'a>]) -> BTreeMap<u32, LinkTarget> {
        let mut places = BTreeMap::new();
        for group in groups {
            match group {
                SectionGroup::Here(sections) => {
                    let steps = sections
                        .iter()
                        .flat_map(|index| job.sections[*index].steps());
                    places.extend(
                        steps.map(|step| (step.number, step_place(job_id(job), step.number))),
                    );
                }
                SectionGroup::Elsewhere(origin, sections) => {
                    let line = elsewhere_place(job, sections);
                    let numbers = self.origin_numbers(job, origin);
                    for step in sections
                        .iter()
                        .flat_map(|index| job.sections[*index].steps())
                    {
                        // If the number differs there, the reader would not find the step: link to
                        // the line that gives both numbers.
                        let has_same_number = numbers.get(&step.number) == Some(&step.number);
                        let place = if has_same_number {
                            let origin_id = JobId::new(&job.machine.id, &origin.id);
                            step_place(origin_id, step.number)
                        } else {
                            line.clone()
                        };
                        places.insert(step.number, place);
                    }
                }
            }
        }
        places
    }

    /// Maps the job's numbers of the steps it has from another procedure to the numbers in that
    /// procedure's own job.
    fn origin_numbers(&self, job: &Job<'a>, origin: &Procedure) -> BTreeMap<u32, u32> {
        let Some(origin_job) = self.origin_job(job, origin) else {
            return BTreeMap::new();
        };
        let here = steps_from(job, origin).map(|step| step.number);
        here.zip(steps_from(origin_job, origin).map(|step| step.number))
            .collect()
    }

    /// The line that replaces sections printed elsewhere. `None` if they have no steps.
    fn elsewhere(
        &self,
        job: &Job<'a>,
        origin: &Procedure,
        sections: &[usize],
    ) -> Option<ManualPiece> {
        let steps = || {
            sections
                .iter()
                .flat_map(|index| job.sections[*index].steps())
        };
        let (first, last) = (steps().next()?.number, steps().last()?.number);
        let numbers = self.origin_numbers(job, origin);
        let there = (*numbers.get(&first)?, *numbers.get(&last)?);
        let context = self.context();
        Some(ManualPiece::Elsewhere {
            place: elsewhere_place(job, sections),
            steps: capitalised(&context.steps_name(first, last)),
            title: origin.title.value.clone(),
            to: LinkTarget::Job(JobId::new(&job.machine.id, &origin.id)),
            there: (there != (first, last)).then(|| {
                let steps = context.steps_name(there.0, there.1);
                self.words().format("steps-there", &[("steps", &steps)])
            }),
        })
    }
}

/// A constructor for pieces of blocks whose headings have the given level and no bookmarks.
fn blocks(level: u8, about: Option<LinkTarget>) -> impl Fn(Vec<Block>) -> ManualPiece {
    move |blocks| ManualPiece::Blocks {
        level,
        marked: false,
        about: about.clone(),
        blocks,
    }
}

/// The steps of a job that come from a procedure.
fn steps_from<'j, 'a>(
    job: &'j Job<'a>,
    origin: &'j Procedure,
) -> impl Iterator<Item = &'j JobStep<'a>> {
    let sections = job.sections.iter();
    let sections = sections.filter(|section| section.origin.id == origin.id);
    sections.flat_map(|section| section.steps())
}

/// Whether two steps of one procedure on one machine have the same content, apart from their
/// numbers.
fn reads_the_same(left: &JobStep<'_>, right: &JobStep<'_>) -> bool {
    let actions = |step: &JobStep<'_>| -> Vec<_> {
        let actions = step.all_actions();
        actions
            .map(|action| {
                (
                    action.verb,
                    action.thing.key().to_owned(),
                    action.stage,
                    action.position.map(str::to_owned),
                )
            })
            .collect()
    };
    let cautions = |step: &JobStep<'_>| -> BTreeSet<String> {
        step.cautions
            .iter()
            .map(|caution| caution.key.clone())
            .collect()
    };
    left.span == right.span
        && left.is_derived == right.is_derived
        && prose::plain(&left.text) == prose::plain(&right.text)
        && actions(left) == actions(right)
        && cautions(left) == cautions(right)
}

fn elsewhere_place(job: &Job<'_>, sections: &[usize]) -> LinkTarget {
    LinkTarget::Elsewhere {
        job: job_id(job),
        section: sections.first().map_or(1, |first| first + 1),
    }
}

fn step_place(job: JobId, step: u32) -> LinkTarget {
    LinkTarget::Step { job, step }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Phase;
    use crate::tree::Memory;

    /// `Phase` does not matter here: a procedure in the middle of a job is printed elsewhere too.
    #[test]
    fn steps_of_other_procedures_are_replaced_by_a_line() {
        let sources = crate::read(&Memory::new([
            ("shop.toml", "name = \"A shop\""),
            (
                "machines/pump.toml",
                "name = \"Pump\"\n[part.cover]\nname = \"cover\"\n[part.lid]\nname = \"lid\"",
            ),
            (
                "safety/safe.md",
                "+++\ntitle = \"Safe\"\nmachines = [\"pump\"]\n+++\n## A\n1. Look round.\n2. Look again.\n",
            ),
            (
                "air/lid.md",
                "+++\ntitle = \"Lid\"\nmachines = [\"pump\"]\nbegin = [\"safe\"]\n+++\n## L\n1. [](remove:lid)\n2. [](fit:lid)\n",
            ),
            (
                "air/all.md",
                "+++\ntitle = \"All\"\nmachines = [\"pump\"]\nbegin = [\"safe\"]\n+++\n## B\n1. [](remove:cover)\n2. [](do:lid)\n3. [](fit:cover)\n",
            ),
        ]));
        let checked = crate::check_all(&sources);
        let job = |id: &str| {
            let mut jobs = checked.jobs.iter();
            &jobs
                .find(|rehearsed| rehearsed.job.procedure.id == id)
                .expect("the job exists")
                .job
        };
        let job = job("all");
        assert!(
            job.sections
                .iter()
                .any(|section| section.phase == Phase::Begin)
        );
        let content = crate::manual::ManualContent {
            machines: sources.shop.machines.values().collect(),
            jobs: checked
                .jobs
                .iter()
                .map(|rehearsed| (&rehearsed.job, &rehearsed.rehearsal))
                .collect(),
            faults: Vec::new(),
            systems: Vec::new(),
            rules_appendix: false,
            page: crate::page::PageId::whole_manual(),
        };
        let edition = crate::page::Edition::first(&sources.shop);
        let output = crate::page::OutputContext::new(&sources.tree, &edition, BTreeSet::new());
        let manual = crate::manual::manual(&sources.tree, &sources.shop, &content, &output);
        let lines = manual
            .chapters
            .iter()
            .flat_map(|chapter| &chapter.pieces)
            .filter_map(|piece| match piece {
                ManualPiece::Elsewhere {
                    place,
                    steps,
                    title,
                    to,
                    there,
                } => {
                    let is_of_job = place.to_string().starts_with("job:pump/all/");
                    let there = there.as_deref().unwrap_or("the same");
                    is_of_job.then(|| format!("{steps}: {title} at {to}, {there}"))
                }
                _ => None,
            });
        let lines: Vec<String> = lines.map(|line| line.replace('\u{a0}', " ")).collect();
        assert_eq!(
            lines,
            [
                "Steps 1 to 2: Safe at job:pump/safe, the same",
                "Steps 4 to 5: Lid at job:pump/lid, steps 3 to 4 there",
            ]
        );
    }
}
