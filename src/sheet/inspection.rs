//! Inspections: the items of a section as a table, and what its checklist asks.

use super::section::Inspection;
use super::writer::Writer;
use crate::job::{self, JobSection, JobStep, Thing};
use crate::page::{Blank, Cell, Detail, FigureSize, LinkTarget, TextRun, plain};
use crate::procedure::not_ready;
use crate::prose::{Inline, Verb};

/// The key of each column's title, with the column's share of the width.
const COLUMNS: [(&str, u8); 4] = [
    ("inspection-item", 5),
    ("look-for", 7),
    ("limits-head", 4),
    ("not-ready-if", 6),
];

/// The columns of what is entered when an inspection has been done.
const DONE: [(&str, u8); 3] = [("date", 3), ("running-hours", 3), ("initials", 3)];

impl Writer<'_, '_> {
    /// The table of an inspection. `None` for another section.
    pub(crate) fn inspection(&self, section: &JobSection<'_>, title: &str) -> Option<Inspection> {
        if !section.is_inspection {
            return None;
        }
        let mut rows: Vec<Vec<Cell>> = section
            .steps()
            .flat_map(|step| {
                let writer = Writer {
                    at_step: Some((step.number, FigureSize::Reading)),
                    ..*self
                };
                writer.item(step)
            })
            .collect();
        let mut columns = COLUMNS.to_vec();
        // Where nothing is measured, the text has the space.
        if !rows
            .iter()
            .any(|row| matches!(row.get(2), Some(Cell::Value { .. })))
        {
            columns.remove(2);
            for row in &mut rows {
                row.remove(2);
            }
        }
        let done = DONE.map(|_| Cell::Blank).to_vec();
        Some(Inspection {
            table: (!rows.is_empty()).then(|| self.context.table(title, &columns, rows)),
            done: self.context.table(title, &DONE, vec![done]),
        })
    }

    /// An item's rows: one for each value that is measured, and one if nothing is.
    fn item(&self, step: &JobStep<'_>) -> Vec<Vec<Cell>> {
        let words = self.context.words();
        let (mut look_for, mut not_ready_if) = (Vec::new(), Vec::new());
        look_for.extend(step.cautions.iter().map(|caution| {
            let message = self.context.message(caution);
            let word = TextRun::text(words.get(message.word.key()));
            let word = TextRun::Strong { runs: vec![word] };
            vec![word, TextRun::text(format!(" {}", message.reminder))]
        }));
        look_for.extend(self.notes_above(step));
        for note in step.notes {
            match self.not_ready(note) {
                Some(rest) => not_ready_if.push(self.runs(&rest, &step.actions)),
                None => look_for.push(self.runs(note, &step.actions)),
            }
        }
        look_for.extend(self.added_notes(step));
        let details = step.all_actions();
        let details = details.flat_map(|action| self.details(action, step));
        look_for.extend(details.map(|detail| vec![TextRun::text(detail_text(&detail))]));
        look_for.extend(step.actions.iter().filter_map(|action| match action.thing {
            Thing::Role(role) => Some(vec![TextRun::text(format!(
                "{}: {} {}",
                words.get("hold"),
                role.name,
                words.get("hold-for")
            ))]),
            _ => None,
        }));
        let text = plain(&self.runs(&step.text, &step.actions));
        let place = LinkTarget::Step {
            job: self.job_id(),
            step: step.number,
        };
        let mut first = Some(vec![
            Cell::Place {
                text: format!("{}. {text}", step.number),
                place,
                link: None,
            },
            Cell::Text {
                runs: lines(look_for),
            },
            Cell::Text {
                runs: lines(not_ready_if),
            },
        ]);
        let mut limits = self.limits_of(step).into_iter();
        let several = limits.len() > 1;
        let mut rows = Vec::new();
        loop {
            let limit = limits.next();
            let cells = first.take();
            if limit.is_none() && cells.is_none() {
                return rows;
            }
            let (measured, value) = limit.unwrap_or_else(|| (String::new(), empty()));
            let mut cells = cells.unwrap_or_else(|| vec![empty(), empty(), empty()]);
            if let Some(Cell::Text { runs }) = cells.get_mut(1).filter(|_| several) {
                // The limits beside it are of this.
                if !runs.is_empty() {
                    runs.push(TextRun::Break);
                }
                runs.push(TextRun::text(measured));
            }
            cells.insert(2, value);
            rows.push(cells);
        }
    }

    /// What follows the words with which a point begins that says when the machine is not ready. `None` of another point.
    pub(crate) fn not_ready(&self, note: &[Inline]) -> Option<Vec<Inline>> {
        not_ready(note, crate::page::author_words(self.context.shop))
    }

    /// What an item's checklist asks in place of a box to tick: whether the machine is ready. `None` if nothing about
    /// the item decides that, or if its readings do.
    pub(crate) fn verdict_of(&self, step: &job::JobStep<'_>, blanks: &[Blank]) -> Option<Blank> {
        let is_read = blanks
            .iter()
            .any(|blank| matches!(blank, Blank::Reading { .. }));
        let has_criterion = step.notes.iter().any(|note| self.not_ready(note).is_some());
        let is_inspected = step
            .actions
            .iter()
            .any(|action| action.verb == Verb::Inspect);
        if !has_criterion && (is_read || !is_inspected) {
            return None;
        }
        let words = self.context.words();
        Some(Blank::Choice {
            label: words.get("condition").to_owned(),
            options: ["ready", "not-ready"]
                .map(|key| words.get(key).to_owned())
                .to_vec(),
            noted: None,
            decides: None,
        })
    }
}

/// A detail in one line.
fn detail_text(detail: &Detail) -> String {
    let value = detail.value.iter().map(|value| match &value.second {
        Some(second) => format!("{} [{second}]", value.first),
        None => value.first.clone(),
    });
    let facts: Vec<String> = value.chain(detail.more.iter().cloned()).collect();
    format!(
        "{}: {}",
        crate::shop::capitalised(&detail.label),
        facts.join(", ")
    )
}

fn empty() -> Cell {
    Cell::Text { runs: Vec::new() }
}

/// Texts in one cell, each on its own line.
fn lines(texts: Vec<Vec<TextRun>>) -> Vec<TextRun> {
    let texts = texts.into_iter().enumerate().flat_map(|(index, text)| {
        let line = (index > 0).then_some(TextRun::Break);
        line.into_iter().chain(text)
    });
    texts.collect()
}
