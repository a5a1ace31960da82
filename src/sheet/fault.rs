//! Fault tables: a machine's symptoms with their causes, tests and remedies. A job's sheet lists
//! the tables that lead to it.

use super::instruction::end_sentence;
use super::writer::Writer;
use crate::job::{self, JobItem, JobStep, Thing};
use crate::page::text::uncapitalised;
use crate::page::{
    Block, Cell, FigureSize, JobId, LinkTarget, RowSubject, SectionId, SheetSection, TextRun,
    Topic, Value, plain,
};
use crate::procedure::Cause;
use crate::prose::Verb;
use crate::shop::{Instruction, Sourced};

/// The key of each column's title, with the column's share of the width.
const COLUMNS: [(&str, u8); 5] = [
    ("likely-cause", 4),
    ("test", 6),
    ("should-be", 6),
    ("was-found", 3),
    ("remedy", 5),
];

impl Writer<'_, '_> {
    pub(crate) fn fault_table(&self) -> Vec<Block> {
        let complaint = self.job.procedure.why.iter();
        let mut blocks: Vec<Block> = complaint.filter_map(|block| self.text(block)).collect();
        blocks.extend(self.safety());
        blocks.extend(self.make_safe());
        blocks.extend(self.kit().tools_section());
        blocks.extend(self.before_running());
        let sections = self.job.sections.iter().enumerate();
        blocks.extend(sections.map(|(index, section)| self.causes(index, section)));
        blocks.push(self.context.wrong_here());
        // The notices come last, so that the tables begin on the first page.
        blocks.push(self.context.notices());
        blocks
    }

    /// How to start and stop the engine, if a test runs it. A reader opens the table alone, at a
    /// machine that nobody has prepared.
    pub(crate) fn before_running(&self) -> Option<Block> {
        let words = self.context.words();
        let machine = self.job.machine;
        let instruction = |verb: Verb, text: &Option<Instruction>| {
            let action = self.actions().find(|action| action.verb == verb);
            let inner = action
                .map(|action| action.inner.as_slice())
                .unwrap_or_default();
            let text = text.as_ref()?;
            Some(self.runs(text, inner))
        };
        self.actions().find(|action| action.verb == Verb::Run)?;
        let needs = machine.run.needs.iter();
        let needs = needs.map(|id| &machine.conditions[id.value]);
        let mut items: Vec<Vec<TextRun>> = needs
            .map(|condition| vec![TextRun::text(crate::shop::capitalised(&condition.name))])
            .collect();
        for (key, verb, text) in [
            ("to-start", Verb::Run, &machine.run.start),
            ("to-stop", Verb::Stop, &machine.run.stop),
        ] {
            let Some(text) = instruction(verb, text) else {
                continue;
            };
            let label = TextRun::Strong {
                runs: vec![TextRun::text(words.get(key))],
            };
            items.push([vec![label, TextRun::text(" ")], text].concat());
        }
        (!items.is_empty()).then(|| {
            self.context
                .section(Topic::BeforeRunning, vec![Block::Bullets { items }])
        })
    }

    pub(crate) fn causes(&self, index: usize, section: &job::JobSection<'_>) -> Block {
        let mut blocks = Vec::new();
        let mut rows = Vec::new();
        let mut figures = Vec::new();
        for item in &section.items {
            match item {
                JobItem::Step(step) => {
                    rows.extend(self.cause(step));
                    figures.extend(
                        step.figures
                            .iter()
                            .filter_map(|image| self.figure(image, FigureSize::Reading)),
                    );
                }
                JobItem::Text(block) => blocks.extend(self.text(block)),
                JobItem::Figure(image) => figures.extend(self.figure(image, FigureSize::Reading)),
            }
        }
        if !rows.is_empty() {
            blocks.push(self.context.table(section.title, &COLUMNS, rows));
        }
        // Figures do not fit into the table.
        blocks.extend(figures.into_iter().map(Block::Figure));
        Block::Section(SheetSection {
            id: SectionId::Steps(index + 1),
            title: section.title.to_owned(),
            from: None,
            blocks,
        })
    }

    /// A cause's rows: one for each value that its test measures, and one for results that are not
    /// values.
    fn cause(&self, step: &JobStep<'_>) -> Vec<Vec<Cell>> {
        let name = plain(&self.runs(&step.text, &step.actions));
        let notes = step.notes.iter();
        let notes: Vec<Vec<TextRun>> = notes.map(|note| self.runs(note, &step.actions)).collect();
        let cause = Cause::of(step.notes);
        let mut notes = notes.into_iter();
        // The table has no space between its rows, so the notes above a cause are read before its test.
        let test = cause.test.and_then(|_| notes.next());
        let mut test = lines(self.notes_above(step).into_iter().chain(test).collect());
        let right: Vec<Vec<TextRun>> = notes.by_ref().take(cause.expected.len()).collect();
        let remedy = notes.next();

        let mut results = self.limits_of(step);
        let mut texts = self.reuse_of(step, right.is_empty());
        texts.extend(right);
        if results.is_empty() || !texts.is_empty() {
            results.push((String::new(), Cell::Text { runs: lines(texts) }));
        }

        // A test names the reading that it takes, but not the dimensions of a part that it inspects.
        if let Some((measured, _)) = results.first().filter(|_| begins_with_dimension(step)) {
            test.extend([TextRun::Break, TextRun::text(measured)]);
        }
        let mut first = Some((
            Cell::Name {
                text: format!("{}. {name}", step.number),
                subject: Some(RowSubject::Cause(step.number)),
            },
            Cell::Text { runs: test },
            Cell::Text {
                runs: remedy.unwrap_or_default(),
            },
        ));
        results
            .into_iter()
            .map(|(measured, right)| {
                let as_found = match right {
                    Cell::Value { .. } => Cell::Blank,
                    _ => self.verdict(),
                };
                let empty = || Cell::Text { runs: Vec::new() };
                let (name, test, remedy) = first
                    .take()
                    .unwrap_or_else(|| (empty(), Cell::text(measured), empty()));
                vec![name, test, right, as_found, remedy]
            })
            .collect()
    }

    /// The limits of everything that a cause's test measures, each with the name of what is
    /// measured.
    pub(crate) fn limits_of(&self, step: &JobStep<'_>) -> Vec<(String, Cell)> {
        let actions = step.actions.iter();
        let value = |sourced: &Option<Sourced>| Some(self.context.value(sourced.as_ref()?));
        let measured = actions.flat_map(|action| -> Vec<(&str, Option<Value>)> {
            match (action.verb, action.thing) {
                (Verb::Measure, Thing::Reading(reading)) => {
                    vec![(reading.title(), self.context.limits(reading))]
                }
                (Verb::Inspect, Thing::Part(part)) => {
                    let dimensions = part.dimensions.values();
                    let dimensions = dimensions
                        .map(|dimension| (&*dimension.name, value(&dimension.wear_limit)));
                    std::iter::once((&*part.name, value(&part.limits)))
                        .chain(dimensions)
                        .collect()
                }
                _ => Vec::new(),
            }
        });
        let limits = measured.filter_map(|(name, limits)| {
            let value = limits?;
            Some((crate::shop::capitalised(name), Cell::Value { value }))
        });
        limits.collect()
    }

    /// When the parts that a cause's test inspects may be used again. A part is named unless the
    /// text is alone in its cell.
    fn reuse_of(&self, step: &JobStep<'_>, is_alone: bool) -> Vec<Vec<TextRun>> {
        let parts = step
            .actions
            .iter()
            .filter_map(|action| match (action.verb, action.thing) {
                (Verb::Inspect, Thing::Part(part)) => Some((&part.name, part.reuse.as_ref()?)),
                _ => None,
            });
        let parts: Vec<_> = parts.collect();
        let is_alone = is_alone && parts.len() == 1;
        let texts = parts.into_iter().map(|(name, reuse)| {
            let mut runs = self.plain_runs(reuse);
            end_sentence(&mut runs);
            if !is_alone {
                if let Some(TextRun::Text { text }) = runs.first_mut() {
                    *text = uncapitalised(text);
                }
                runs.insert(
                    0,
                    TextRun::text(format!("{}: ", crate::shop::capitalised(name))),
                );
            }
            runs
        });
        texts.collect()
    }

    /// The choice to tick when nothing is measured.
    fn verdict(&self) -> Cell {
        let words = self.context.words();
        Cell::Choice {
            options: ["right", "wrong"]
                .map(|key| words.get(key).to_owned())
                .to_vec(),
        }
    }

    /// The section of fault tables whose remedy is this job.
    pub(crate) fn cures(&self) -> Vec<Vec<TextRun>> {
        let words = self.context.words();
        let items = self.job.remedied_faults.iter().map(|cure| {
            let title = TextRun::text(&cure.fault.title.value);
            let fault = JobId::new(&self.job.machine.id, &cure.fault.id);
            let numbers: Vec<String> = cure.causes.iter().map(u32::to_string).collect();
            let (key, numbers) = match numbers.as_slice() {
                [number] => ("cause", number.clone()),
                numbers => ("causes", words.list(numbers)),
            };
            vec![TextRun::Link {
                target: LinkTarget::fault(fault),
                runs: vec![title],
                name: Some(words.format(key, &[("number", &numbers)])),
            }]
        });
        items.collect()
    }
}

/// Whether the first value that a cause's test measures is a dimension of a part that it inspects.
fn begins_with_dimension(step: &JobStep<'_>) -> bool {
    let mut actions = step.actions.iter();
    let first = actions.find_map(|action| match (action.verb, action.thing) {
        (Verb::Measure, Thing::Reading(reading)) => {
            (reading.limits.is_some() || reading.level.is_some()).then_some(false)
        }
        (Verb::Inspect, Thing::Part(part)) if part.limits.is_some() => Some(false),
        (Verb::Inspect, Thing::Part(part)) => (!part.dimensions.is_empty()).then_some(true),
        _ => None,
    });
    first.unwrap_or(false)
}

/// Joins texts in one cell, each on its own line.
fn lines(texts: Vec<Vec<TextRun>>) -> Vec<TextRun> {
    let mut lines = Vec::new();
    for text in texts {
        if !lines.is_empty() {
            lines.push(TextRun::Break);
        }
        lines.extend(text);
    }
    lines
}
