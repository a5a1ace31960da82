//! Procedures, by system: each procedure's own steps on each machine.

use super::book::{Chapter, Need, Piece};
use super::way::{Way, link, page_after, page_in_brackets};
use super::{Book, Causes, Gone, Uses, chapter, heading, job_anchor, note_uses, procedure_anchor};
use crate::dry_run::{self, State};
use crate::job::{Job, Step};
use crate::page::text::{minutes, step_anchor};
use crate::page::{Block, Cell, Fact, LeafKind, Run};
use crate::procedure::Procedure;
use crate::prose;
use crate::sheet::Writer;
use crate::shop::capitalised;
use std::collections::{BTreeMap, BTreeSet};

/// Sections of a job that stand together, by their places among its sections.
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
                    opening.push(heading(1, part.clone(), "procedures"));
                }
                if at == 0 {
                    opening.push(heading(2, system.clone(), format!("system:{folder}")));
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
        opening: Vec<Piece>,
        jobs: &[Gone<'b, 'a>],
        causes: &Causes,
        uses: &mut Uses,
    ) -> Vec<Chapter> {
        let Some((first, _)) = jobs.first() else {
            return Vec::new();
        };
        let procedure = first.procedure;
        let why = self.why_of_all(jobs);
        let mut opening = Some(opening);
        let mut chapters = Vec::new();
        for gone in jobs {
            let (job, _) = gone;
            let is_first = opening.is_some();
            let mut pieces = opening.take().unwrap_or_default();
            let is_alone = !self.for_several.contains(procedure.id.as_str());
            if is_first {
                let mut anchors = vec![procedure_anchor(procedure)];
                anchors.extend(is_alone.then(|| job_anchor(job)));
                pieces.push(Piece::Heading {
                    level: 3,
                    listed: true,
                    title: procedure.title.value.clone(),
                    anchors,
                });
                pieces.push(self.facts(procedure, is_alone.then_some(job)));
                pieces.extend(why.clone().filter(|why| !why.is_empty()).map(blocks(4)));
            }
            if !is_alone {
                pieces.push(heading(4, job.machine.name.value.clone(), job_anchor(job)));
                pieces.extend(
                    self.time(job)
                        .map(|fact| Piece::Facts { facts: vec![fact] }),
                );
            }
            let level = if is_alone { 4 } else { 5 };
            pieces.extend(self.job(level, *gone, why.is_none(), causes, uses));
            let inner = format!("{system} · {}", procedure.title.value);
            chapters.push(chapter(job.machine.name.value.clone(), inner, pieces));
        }
        chapters
    }

    fn facts(&self, procedure: &Procedure, job: Option<&Job<'_>>) -> Piece {
        let mut facts: Vec<Fact> = job.and_then(|job| self.time(job)).into_iter().collect();
        facts.extend(procedure.interval.clone().map(|text| Fact {
            label: self.word("interval"),
            text,
        }));
        let revised = procedure.revised.as_ref();
        let revised = revised.map_or_else(String::new, |day| format!(", {day}"));
        facts.push(Fact {
            label: self.word("revision"),
            text: format!("{}{revised}", procedure.revision),
        });
        Piece::Facts { facts }
    }

    fn time(&self, job: &Job<'_>) -> Option<Fact> {
        Some(Fact {
            label: self.word("time-allowed"),
            text: minutes(job.minutes?),
        })
    }

    /// Why the procedure is done, where that reads the same on all its machines; none where it
    /// does not.
    fn why_of_all(&self, jobs: &[Gone<'b, 'a>]) -> Option<Vec<Block>> {
        let is_alone = jobs.len() == 1;
        // What is said of several machines leads to the procedure, not to one of them.
        let leaves: BTreeMap<String, String> = self
            .content
            .jobs
            .iter()
            .map(|(job, _)| {
                let path =
                    crate::page::path(&job.machine.id, &job.procedure.id, LeafKind::ShopSheet);
                let to = if is_alone {
                    job_anchor(job)
                } else {
                    procedure_anchor(job.procedure)
                };
                (self.setting.edition.path(&path), to)
            })
            .collect();
        let (none, mut all) = (BTreeMap::new(), Vec::new());
        for gone in jobs {
            let states = dry_run::states(gone.0);
            let writer = self.writer(LeafKind::ShopSheet, *gone, &states);
            let mut way = self.way("", &none);
            way.leaves = &leaves;
            all.push(way.blocks(why(&writer)));
        }
        let first = all.first()?;
        all.iter().all(|one| one == first).then(|| first.clone())
    }

    /// What stands of a job below its heading.
    fn job(
        &self,
        level: u8,
        gone: Gone<'b, 'a>,
        with_why: bool,
        causes: &Causes,
        uses: &mut Uses,
    ) -> Vec<Piece> {
        let (job, _) = gone;
        let states: Vec<State<'a>> = dry_run::states(job);
        let writer = self.writer(LeafKind::ShopSheet, gone, &states);
        let prefix = job_anchor(job);
        let stretches = self.stretches(job);
        let steps = self.steps_of(job, &stretches);
        let way = self.way(&prefix, &steps);

        let mut pieces = Vec::new();
        if with_why {
            pieces.push(blocks(level)(way.blocks(why(&writer))));
        }
        pieces.extend(writer.protection().map(|block| blocks(level)(vec![block])));
        pieces.extend(super::met(&[job]));
        pieces.extend(self.needs(&writer, causes));

        let mut written: Vec<Option<Block>> = writer.sections().into_iter().map(Some).collect();
        for stretch in &stretches {
            match stretch {
                Stretch::Here(sections) => {
                    for at in sections {
                        for step in job.sections[*at].steps() {
                            note_uses(uses, job, step, &way.anchor(&step_anchor(step.number)));
                        }
                    }
                    let own = sections
                        .iter()
                        .filter_map(|at| written.get_mut(*at)?.take());
                    pieces.push(blocks(level)(way.blocks(own.collect())));
                }
                Stretch::Elsewhere(origin, sections) => {
                    pieces.extend(self.elsewhere(&writer, origin, sections, way));
                }
            }
        }
        let left = writer.left_on_purpose();
        pieces.extend(left.map(|block| blocks(level)(way.blocks(vec![block]))));
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
        let Some(own) = self.own.get(&(job.machine.id.as_str(), origin.id.as_str())) else {
            return false;
        };
        let here: Vec<&Step<'_>> = steps_from(job, origin).collect();
        let there: Vec<&Step<'_>> = steps_from(own, origin).collect();
        here.len() == there.len()
            && here
                .iter()
                .zip(&there)
                .all(|(one, other)| says_the_same(one, other))
    }

    /// Where each step of a job stands in the manual.
    fn steps_of(&self, job: &Job<'a>, stretches: &[Stretch<'a>]) -> BTreeMap<u32, String> {
        let prefix = job_anchor(job);
        let mut places = BTreeMap::new();
        for stretch in stretches {
            match stretch {
                Stretch::Here(sections) => {
                    let steps = sections.iter().flat_map(|at| job.sections[*at].steps());
                    places.extend(steps.map(|step| {
                        let anchor = step_anchor(step.number);
                        (step.number, format!("{prefix}/{anchor}"))
                    }));
                }
                Stretch::Elsewhere(origin, sections) => {
                    let line = elsewhere_anchor(job, sections);
                    let numbers = self.numbers_there(job, origin);
                    for step in sections.iter().flat_map(|at| job.sections[*at].steps()) {
                        // A step with another number there would not be found by this one.
                        let there = numbers.get(&step.number) == Some(&step.number);
                        let to = if there {
                            let own = format!("job:{}/{}", job.machine.id, origin.id);
                            format!("{own}/{}", step_anchor(step.number))
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
        let own = self.own.get(&(job.machine.id.as_str(), origin.id.as_str()));
        let Some(own) = own else {
            return BTreeMap::new();
        };
        let here = steps_from(job, origin).map(|step| step.number);
        here.zip(steps_from(own, origin).map(|step| step.number))
            .collect()
    }

    /// The line that stands in the place of others' steps; none where they have no steps.
    fn elsewhere(
        &self,
        writer: &Writer<'_, 'a>,
        origin: &Procedure,
        sections: &[usize],
        way: Way<'_>,
    ) -> Option<Piece> {
        let job = writer.job;
        let steps = || sections.iter().flat_map(|at| job.sections[*at].steps());
        let (first, last) = (steps().next()?.number, steps().last()?.number);
        let numbers = self.numbers_there(job, origin);
        let there = (*numbers.get(&first)?, *numbers.get(&last)?);
        Some(Piece::Elsewhere {
            anchor: elsewhere_anchor(job, sections),
            steps: capitalised(&writer.steps_name(first, last)),
            title: origin.title.value.clone(),
            to: format!("job:{}/{}", job.machine.id, origin.id),
            there: (there != (first, last)).then(|| {
                let steps = writer.steps_name(there.0, there.1);
                way.words.say("steps-there", &[("steps", &steps)])
            }),
        })
    }

    /// What a job is for and what it takes, a line or two each.
    fn needs(&self, writer: &Writer<'_, 'a>, causes: &Causes) -> Option<Piece> {
        let mut needs = Vec::new();
        let mut need = |key: &'static str, items: Vec<Vec<Run>>| {
            if !items.is_empty() {
                let runs = items.join(&Run::text("; "));
                needs.push(Need {
                    label: self.word(key),
                    runs,
                });
            }
        };
        need("cures", self.cures(writer.job, causes));
        need("tools", tools(writer));
        need("kit", kit(writer));
        (!needs.is_empty()).then_some(Piece::Needs { needs })
    }

    /// The fault tables that lead to the job, with the page of the first cause that does.
    fn cures(&self, job: &Job<'a>, causes: &Causes) -> Vec<Vec<Run>> {
        let words = self.words();
        let cures = job.cures.iter().map(|cure| {
            let title = vec![Run::text(&cure.fault.title.value)];
            let numbers: Vec<String> = cure.causes.iter().map(u32::to_string).collect();
            let (key, list) = match numbers.as_slice() {
                [one] => ("cause", one.clone()),
                several => ("causes", words.list(several)),
            };
            let said = words.say(key, &[("number", &list)]);
            let row = cure.causes.first().and_then(|first| {
                causes.get(&(job.machine.id.clone(), cure.fault.id.clone(), *first))
            });
            match row {
                Some(row) => vec![
                    link(row, title),
                    Run::text(format!(" ({said}")),
                    page_after(row, words),
                    Run::text(")"),
                ],
                None => [title, vec![Run::text(format!(" ({said})"))]].concat(),
            }
        });
        cures.collect()
    }

    /// What the tools of a job of any kind are, and where a machine is made safe.
    pub(super) fn needs_of_fault(&self, writer: &Writer<'_, 'a>) -> Option<Piece> {
        let mut needs = Vec::new();
        if writer.make_safe().is_some() {
            let to = format!("{}/make-safe", super::machine_anchor(writer.job.machine));
            let said = self.word("as-in-data");
            needs.push(Need {
                label: self.word("make-safe"),
                runs: vec![
                    link(&to, vec![Run::text(said)]),
                    page_in_brackets(&to, self.words()),
                ],
            });
        }
        let tools = tools(writer);
        if !tools.is_empty() {
            needs.push(Need {
                label: self.word("tools"),
                runs: tools.join(&Run::text("; ")),
            });
        }
        (!needs.is_empty()).then_some(Piece::Needs { needs })
    }
}

/// Blocks as a piece, with sections' headings at a level, that no bookmarks list.
fn blocks(level: u8) -> impl Fn(Vec<Block>) -> Piece {
    move |blocks| Piece::Blocks {
        level,
        marked: false,
        blocks,
    }
}

fn why(writer: &Writer<'_, '_>) -> Vec<Block> {
    let why = writer.job.procedure.why.iter();
    why.filter_map(|block| writer.text(block)).collect()
}

/// The steps of a job that a procedure has.
fn steps_from<'j, 'a>(
    job: &'j Job<'a>,
    origin: &'j Procedure,
) -> impl Iterator<Item = &'j Step<'a>> {
    let sections = job.sections.iter();
    let own = sections.filter(|section| section.origin.id == origin.id);
    own.flat_map(|section| section.steps())
}

/// Whether two steps of one procedure on one machine read the same but for their numbers.
fn says_the_same(one: &Step<'_>, other: &Step<'_>) -> bool {
    let acts = |step: &Step<'_>| -> Vec<_> {
        let acts = step.all_acts();
        acts.map(|act| {
            (
                act.verb,
                act.thing.key().to_owned(),
                act.stage,
                act.seat.map(str::to_owned),
            )
        })
        .collect()
    };
    let cautions = |step: &Step<'_>| -> BTreeSet<String> {
        step.cautions
            .iter()
            .map(|caution| caution.key.clone())
            .collect()
    };
    one.span == other.span
        && one.derived == other.derived
        && prose::plain(&one.text) == prose::plain(&other.text)
        && acts(one) == acts(other)
        && cautions(one) == cautions(other)
}

fn elsewhere_anchor(job: &Job<'_>, sections: &[usize]) -> String {
    let first = sections.first().copied().unwrap_or_default();
    format!("{}/part-{}", job_anchor(job), first + 1)
}

/// The rows of a section's table.
fn rows_of(section: Option<Block>) -> Vec<Vec<Cell>> {
    match section {
        Some(Block::Section(section)) => super::rows(&section.blocks).to_vec(),
        _ => Vec::new(),
    }
}

fn text_of(cell: Option<&Cell>) -> String {
    match cell {
        Some(Cell::Name { text }) => text.clone(),
        Some(Cell::Text { runs }) => crate::page::text::plain(runs),
        Some(Cell::Value { value }) => value.first.clone(),
        _ => String::new(),
    }
}

/// The tools of a job's sheet, each with its size where its name does not say it.
fn tools(writer: &Writer<'_, '_>) -> Vec<Vec<Run>> {
    let rows = rows_of(writer.of_kit().tools());
    let tools = rows.iter().map(|row| {
        let (name, size) = (text_of(row.first()), text_of(row.get(1)));
        let is_said = name.contains(&size.replace('\u{a0}', " "));
        let text = if is_said {
            name
        } else {
            format!("{name}, {size}")
        };
        vec![Run::text(text)]
    });
    tools.collect()
}

/// What a job's sheet has to be pulled, with how much of it where that is known.
fn kit(writer: &Writer<'_, '_>) -> Vec<Vec<Run>> {
    let as_needed = writer.desk.words().get("as-needed");
    let rows = rows_of(writer.of_kit().kit());
    // A row of a sum has no box.
    let items = rows
        .iter()
        .filter(|row| matches!(row.last(), Some(Cell::Tick)));
    let items = items.map(|row| {
        let (name, number) = (text_of(row.first()), text_of(row.get(1)));
        let amount = text_of(row.get(2));
        let mut runs = match amount.as_str() {
            "1" => vec![Run::text(name)],
            amount if amount == as_needed => vec![Run::text(name)],
            count if count.chars().all(|digit| digit.is_ascii_digit()) => {
                vec![Run::text(format!("{count}\u{a0}×\u{a0}{name}"))]
            }
            amount => vec![Run::text(format!("{name}, {amount}"))],
        };
        if !number.is_empty() {
            runs.push(Run::text(" "));
            runs.push(Run::Code { text: number });
        }
        runs
    });
    items.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Phase;
    use crate::tree::Memory;

    /// `Phase` decides nothing here: what is done in the middle of a job stands elsewhere, too.
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
        let checked = crate::check(&sources);
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
            path: "manual".to_owned(),
        };
        let edition = crate::page::Edition::first(&sources.shop);
        let setting = crate::page::Setting::new(&sources.tree, &edition, &[], BTreeSet::new());
        let manual = crate::manual::manual(&sources.tree, &sources.shop, &content, &setting);
        let lines = manual
            .chapters
            .iter()
            .flat_map(|chapter| &chapter.pieces)
            .filter_map(|piece| match piece {
                Piece::Elsewhere {
                    anchor,
                    steps,
                    title,
                    to,
                    there,
                } => {
                    let is_of_all = anchor.starts_with("job:pump/all/");
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
