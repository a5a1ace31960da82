//! Procedures, by system: each procedure's own steps on each machine.

use super::book::{Chapter, ManualPiece};
use super::writer::{
    Book, Causes, JobAndRehearsal, Uses, chapter, heading, job_id, job_place, met, note_uses,
};
use crate::job::{Job, JobStep};
use crate::page::text::minutes;
use crate::page::{Block, Fact, JobId, LinkTarget, author_words, map_links_of_blocks};
use crate::procedure::Procedure;
use crate::prose;
use crate::sheet::{JobDocument, View};
use crate::shop::capitalised;
use std::collections::{BTreeMap, BTreeSet};

/// Adjacent sections of a job, by their places among its sections.
enum Stretch<'a> {
    /// Written out here.
    Here(Vec<usize>),
    /// Those of a procedure that has them in its own place.
    Elsewhere(&'a Procedure, Vec<usize>),
}

impl<'b, 'a> Book<'b, 'a> {
    pub(super) fn procedures(&self, causes: &Causes, uses: &mut Uses) -> Vec<Chapter> {
        let part = self.word("procedures");
        let mut chapters = Vec::new();
        for (folder, procedures) in self.systems() {
            let system = self.shop.system_title(folder);
            for (at, jobs) in procedures.into_iter().enumerate() {
                let mut opening = Vec::new();
                if chapters.is_empty() {
                    opening.push(heading(1, part.clone(), []));
                }
                if at == 0 {
                    opening.push(heading(2, system.clone(), []));
                }
                chapters.extend(self.procedure(&system, opening, &jobs, causes, uses));
            }
        }
        chapters
    }

    /// A procedure on each of its machines, each machine on pages of its own: whoever works from a
    /// page never has another machine's values on it.
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
            let is_alone = !self.for_several.contains(procedure.id.as_str());
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
            chapters.push(chapter(job.machine.name.value.clone(), inner, pieces));
        }
        chapters
    }

    fn facts(&self, procedure: &Procedure, job: Option<&Job<'_>>) -> ManualPiece {
        let mut facts: Vec<Fact> = job.and_then(|job| self.time(job)).into_iter().collect();
        let author = author_words(self.shop);
        facts.extend(procedure.interval.as_ref().map(|text| Fact {
            label: self.word("interval"),
            text: self.words().translated_intervals(text, author),
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
            text: minutes(job.minutes?),
        })
    }

    /// Why the procedure is done, where that reads the same on all its machines; none where it
    /// does not.
    fn why_of_all(&self, documents: &[JobDocument<'_, 'a>]) -> Option<Vec<Block>> {
        let none = BTreeMap::new();
        // What is said of several machines leads to the procedure, not to one of them.
        let to = |target: &LinkTarget| match target {
            LinkTarget::Job(job) if documents.len() > 1 && self.own.contains_key(job) => {
                Some(LinkTarget::procedure(&job.procedure))
            }
            other => self.place(other, &none),
        };
        let mut all = documents
            .iter()
            .map(|document| map_links_of_blocks(document.why.clone(), &to));
        let first = all.next()?;
        all.all(|why| why == first).then_some(first)
    }

    /// What is said of a job below its heading.
    fn job(
        &self,
        level: u8,
        document: &JobDocument<'_, 'a>,
        with_why: bool,
        causes: &Causes,
        uses: &mut Uses,
    ) -> Vec<ManualPiece> {
        let job = document.job;
        let stretches = self.stretches(job);
        let steps = self.steps_of(job, &stretches);
        let about = blocks(level, Some(job_place(job)));
        let piece = |blocks| about(self.blocks(blocks, &steps));

        let mut pieces = Vec::new();
        if with_why {
            pieces.push(piece(document.why.clone()));
        }
        pieces.extend(document.protection.clone().map(|block| piece(vec![block])));
        pieces.extend(met(&[job]));
        pieces.extend(self.needs(document, causes));
        for stretch in &stretches {
            match stretch {
                Stretch::Here(sections) => {
                    for at in sections {
                        for step in job.sections[*at].steps() {
                            note_uses(uses, job, step, &step_place(job_id(job), step.number));
                        }
                    }
                    let own = sections.iter().filter_map(|at| {
                        let section = document.sections.get(*at)?;
                        section.view(View::Full, self.context())
                    });
                    pieces.push(piece(own.collect()));
                }
                Stretch::Elsewhere(origin, sections) => {
                    pieces.extend(self.elsewhere(job, origin, sections));
                }
            }
        }
        pieces.extend(document.left_undone.clone().map(|block| piece(vec![block])));
        pieces
    }

    /// The job's sections, with those told in another place of the manual put together.
    fn stretches(&self, job: &Job<'a>) -> Vec<Stretch<'a>> {
        let mut stretches: Vec<Stretch<'a>> = Vec::new();
        let mut told: BTreeMap<&str, bool> = BTreeMap::new();
        for (at, section) in job.sections.iter().enumerate() {
            let origin = section.origin;
            let is_elsewhere = *told
                .entry(origin.id.as_str())
                .or_insert_with(|| self.is_told_elsewhere(job, origin));
            match (stretches.last_mut(), is_elsewhere) {
                (Some(Stretch::Here(sections)), false) => sections.push(at),
                (Some(Stretch::Elsewhere(last, sections)), true) if last.id == origin.id => {
                    sections.push(at);
                }
                (_, true) => stretches.push(Stretch::Elsewhere(origin, vec![at])),
                (_, false) => stretches.push(Stretch::Here(vec![at])),
            }
        }
        stretches
    }

    /// Whether what a job takes over from a procedure is, step by step, what the procedure's own
    /// job on the machine has: what is put back or restored depends on the job.
    fn is_told_elsewhere(&self, job: &Job<'a>, origin: &Procedure) -> bool {
        if origin.id == job.procedure.id {
            return false;
        }
        let Some(own) = self.own_job(job, origin) else {
            return false;
        };
        let here: Vec<&JobStep<'_>> = steps_from(job, origin).collect();
        let there: Vec<&JobStep<'_>> = steps_from(own, origin).collect();
        here.len() == there.len()
            && here
                .iter()
                .zip(&there)
                .all(|(one, other)| says_the_same(one, other))
    }

    /// The job that a procedure itself is, on the machine of another job.
    fn own_job(&self, job: &Job<'a>, origin: &Procedure) -> Option<&'b Job<'a>> {
        let own = JobId::new(&job.machine.id, &origin.id);
        self.own.get(&own).copied()
    }

    /// Where each step of a job is in the manual.
    fn steps_of(&self, job: &Job<'a>, stretches: &[Stretch<'a>]) -> BTreeMap<u32, LinkTarget> {
        let mut places = BTreeMap::new();
        for stretch in stretches {
            match stretch {
                Stretch::Here(sections) => {
                    let steps = sections.iter().flat_map(|at| job.sections[*at].steps());
                    places.extend(
                        steps.map(|step| (step.number, step_place(job_id(job), step.number))),
                    );
                }
                Stretch::Elsewhere(origin, sections) => {
                    let line = elsewhere_place(job, sections);
                    let numbers = self.numbers_there(job, origin);
                    for step in sections.iter().flat_map(|at| job.sections[*at].steps()) {
                        // A step with another number there would not be found by this one.
                        let is_there = numbers.get(&step.number) == Some(&step.number);
                        let to = if is_there {
                            let own = JobId::new(&job.machine.id, &origin.id);
                            step_place(own, step.number)
                        } else {
                            line.clone()
                        };
                        places.insert(step.number, to);
                    }
                }
            }
        }
        places
    }

    /// A job's numbers of the steps it takes over from a procedure, to those on the procedure's own
    /// sheet.
    fn numbers_there(&self, job: &Job<'a>, origin: &Procedure) -> BTreeMap<u32, u32> {
        let Some(own) = self.own_job(job, origin) else {
            return BTreeMap::new();
        };
        let here = steps_from(job, origin).map(|step| step.number);
        here.zip(steps_from(own, origin).map(|step| step.number))
            .collect()
    }

    /// The line in the place of others' steps; none where they have no steps.
    fn elsewhere(
        &self,
        job: &Job<'a>,
        origin: &Procedure,
        sections: &[usize],
    ) -> Option<ManualPiece> {
        let steps = || sections.iter().flat_map(|at| job.sections[*at].steps());
        let (first, last) = (steps().next()?.number, steps().last()?.number);
        let numbers = self.numbers_there(job, origin);
        let there = (*numbers.get(&first)?, *numbers.get(&last)?);
        let context = self.context();
        Some(ManualPiece::Elsewhere {
            place: elsewhere_place(job, sections),
            steps: capitalised(&context.steps_name(first, last)),
            title: origin.title.value.clone(),
            to: LinkTarget::Job(JobId::new(&job.machine.id, &origin.id)),
            there: (there != (first, last)).then(|| {
                let steps = context.steps_name(there.0, there.1);
                self.words().say("steps-there", &[("steps", &steps)])
            }),
        })
    }
}

/// Blocks about something as a piece, with sections' headings at a level, that no bookmarks list.
fn blocks(level: u8, about: Option<LinkTarget>) -> impl Fn(Vec<Block>) -> ManualPiece {
    move |blocks| ManualPiece::Blocks {
        level,
        marked: false,
        about: about.clone(),
        blocks,
    }
}

/// The steps of a job that a procedure has.
fn steps_from<'j, 'a>(
    job: &'j Job<'a>,
    origin: &'j Procedure,
) -> impl Iterator<Item = &'j JobStep<'a>> {
    let sections = job.sections.iter();
    let own = sections.filter(|section| section.origin.id == origin.id);
    own.flat_map(|section| section.steps())
}

/// Whether two steps of one procedure on one machine read the same but for their numbers.
fn says_the_same(one: &JobStep<'_>, other: &JobStep<'_>) -> bool {
    let actions = |step: &JobStep<'_>| -> Vec<_> {
        let actions = step.all_actions();
        actions
            .map(|action| {
                (
                    action.verb,
                    action.thing.key().to_owned(),
                    action.stage,
                    action.seat.map(str::to_owned),
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
    one.span == other.span
        && one.derived == other.derived
        && prose::plain(&one.text) == prose::plain(&other.text)
        && actions(one) == actions(other)
        && cautions(one) == cautions(other)
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

    /// `Phase` decides nothing here: what is done in the middle of a job is written out elsewhere, too.
    #[test]
    fn the_steps_of_others_give_way_to_a_line_each() {
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
                .find(|one| one.job.procedure.id == id)
                .expect("it is there")
                .job
        };
        let all = job("all");
        assert!(
            all.sections
                .iter()
                .any(|section| section.phase == Phase::Begin)
        );
        let content = crate::manual::ManualContent {
            machines: sources.shop.machines.values().collect(),
            jobs: checked
                .jobs
                .iter()
                .map(|one| (&one.job, &one.rehearsal))
                .collect(),
            faults: Vec::new(),
            systems: Vec::new(),
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
                    let is_of_all = place.to_string().starts_with("job:pump/all/");
                    let there = there.as_deref().unwrap_or("the same");
                    is_of_all.then(|| format!("{steps}: {title} at {to}, {there}"))
                }
                _ => None,
            });
        let lines: Vec<String> = lines.map(|line| line.replace('\u{a0}', " ")).collect();
        assert_eq!(
            lines,
            [
                "Steps 1 to 2: Safe at job:pump/safe, the same",
                "Steps 4 to 5: Lid at job:pump/lid, there steps 3 to 4",
            ]
        );
    }
}
