//! The part of an interval chart that says what is done, due and overdue on each unit, from the shop's log.

use super::machine::MachineWriter;
use crate::due::{self, JobDue, Last, State, UnitDue, hours_text};
use crate::page::{Block, Cell, JobId, LinkTarget, TextRun, Topic, author_words};
use crate::trade::Day;

/// The key of each column's title, with the column's share of the width.
const COLUMNS: [(&str, u8); 5] = [
    ("job", 7),
    ("interval", 5),
    ("done-last", 4),
    ("due-next", 4),
    ("due-state", 3),
];

impl MachineWriter<'_, '_> {
    /// `None` without a day, and without a unit of the machine in the log.
    pub(crate) fn due_on_units(&self) -> Option<Block> {
        let on = self.context.output.on?;
        let shop = self.context.shop;
        let machine = shop.machines.find(&self.machine.id)?;
        let author = author_words(shop);
        let units = shop.fleet.values();
        let units = units.filter(|unit| unit.machine == Some(machine));
        let blocks = units.flat_map(|unit| {
            let procedures = self.jobs.iter().map(|job| job.procedure);
            let due = due::of_unit(unit, self.machine, procedures, author, on);
            let table = self.jobs_of_unit(&due);
            std::iter::once(self.unit(&due))
                .chain(table)
                .collect::<Vec<_>>()
        });
        let blocks: Vec<Block> = blocks.collect();
        if blocks.is_empty() {
            return None;
        }
        let words = self.context.words();
        let day = words.format("due-on-day", &[("day", &on.to_string())]);
        let runs = vec![TextRun::text(day)];
        let blocks = std::iter::once(Block::Text { runs }).chain(blocks);
        Some(self.context.section(Topic::DueOnUnits, blocks.collect()))
    }

    /// "sedge-1, S3-0412: 212 h read on 2026-11-28".
    fn unit(&self, due: &UnitDue<'_>) -> Block {
        let words = self.context.words();
        let number = due.unit.serial_number.iter().cloned();
        let name: Vec<String> = std::iter::once(due.unit.key.clone())
            .chain(number)
            .collect();
        let read = match &due.hours {
            Some((hours, day)) => {
                let values = [("hours", &*hours_text(hours)), ("day", &*day.to_string())];
                words.format("hours-read", &values)
            }
            None => words.get("no-hours-read").to_owned(),
        };
        let name = TextRun::Strong {
            runs: vec![TextRun::text(name.join(", "))],
        };
        Block::Text {
            runs: vec![name, TextRun::text(format!(": {read}"))],
        }
    }

    /// `None` if no job of the machine has an interval that can be counted.
    fn jobs_of_unit(&self, due: &UnitDue<'_>) -> Option<Block> {
        // What is done at each use, or when something is found, is no matter of a day.
        let jobs = due.jobs.iter();
        let jobs = jobs.filter(|job| !matches!(job.when.state, State::EachUse | State::WhenNeeded));
        let rows: Vec<Vec<Cell>> = jobs.map(|job| self.job_of_unit(job)).collect();
        (!rows.is_empty()).then(|| self.context.table(&due.unit.key, &COLUMNS, rows))
    }

    fn job_of_unit(&self, job: &JobDue<'_>) -> Vec<Cell> {
        let words = self.context.words();
        let title = TextRun::text(job.procedure.title.value.clone());
        let id = JobId::new(&self.machine.id, &job.procedure.id);
        let (key, is_urgent) = match job.when.state {
            State::Overdue => ("state-overdue", true),
            State::Due => ("state-due", true),
            State::NotRecorded => ("state-not-recorded", false),
            State::Finished => ("state-finished", false),
            State::Done | State::EachUse | State::WhenNeeded => ("state-done", false),
        };
        let state = TextRun::text(words.get(key));
        let state = if is_urgent {
            TextRun::Strong { runs: vec![state] }
        } else {
            state
        };
        vec![
            Cell::Text {
                runs: vec![TextRun::link(LinkTarget::Job(id), vec![title])],
            },
            Cell::text(words.interval(&job.interval)),
            Cell::text(
                job.last
                    .as_ref()
                    .map_or_else(String::new, |last| self.last(last)),
            ),
            Cell::text(self.next(job)),
            Cell::Text { runs: vec![state] },
        ]
    }

    fn last(&self, last: &Last) -> String {
        let hours = last.hours.as_ref().map(hours_text);
        self.at(Some(last.day), hours)
    }

    fn next(&self, job: &JobDue<'_>) -> String {
        let hours = job.when.hours.as_ref().map(|(due, _)| hours_text(due));
        self.at(job.when.day.map(|(day, _)| day), hours)
    }

    /// "2026-11-28, 212 h".
    fn at(&self, day: Option<Day>, hours: Option<String>) -> String {
        let words = self.context.words();
        let hours = hours.map(|hours| words.format("hours-at", &[("hours", &hours)]));
        let day = day.map(|day| day.to_string());
        let texts: Vec<String> = day.into_iter().chain(hours).collect();
        texts
            .join(", ")
            .replace(' ', "\u{a0}")
            .replace(",\u{a0}", ", ")
    }
}
