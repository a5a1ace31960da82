//! Sections and steps.

use super::section::{DocumentStep, SectionItem, StepSection};
use super::writer::Writer;
use crate::cache::Fingerprint;
use crate::job::{self, Action, JobItem, Phase, ReferenceTarget, Thing};
use crate::page::{Block, Figure, FigureId, SheetStepContent, TextRun};
use crate::prose::{self, Image, Inline, List, ProseBlock, Verb};
use crate::shop::{Instruction, Part, Reading};
use std::sync::Arc;

impl Writer<'_, '_> {
    /// The job's sections, each with its steps.
    pub(crate) fn sections(&self) -> Vec<StepSection> {
        let ends = self.group_ends();
        let numbered = self.job.sections.iter().enumerate();
        numbered
            .map(|(at, section)| {
                let is_own = section.origin.id == self.job.procedure.id;
                let from = (section.phase != Phase::Own || !is_own)
                    .then(|| section.origin.title.value.clone());
                StepSection {
                    number: at + 1,
                    title: if section.is_continued {
                        let places = [("title", section.title)];
                        self.desk.words().say("continued", &places)
                    } else {
                        section.title.to_owned()
                    },
                    from,
                    items: self.items(section, &ends),
                }
            })
            .collect()
    }

    fn items(&self, section: &job::JobSection<'_>, ends: &[u32]) -> Vec<SectionItem> {
        let mut items = Vec::new();
        for item in &section.items {
            match item {
                JobItem::Step(step) => {
                    items.push(SectionItem::Step(self.step(step)));
                    items.extend(self.stop(ends, step.number).map(SectionItem::Stop));
                }
                JobItem::Text(block) => items.extend(self.text(block).map(SectionItem::Text)),
                JobItem::Figure(image) => items.extend(self.figure(image).map(SectionItem::Figure)),
            }
        }
        items
    }

    /// A paragraph or plain list.
    pub(crate) fn text(&self, block: &ProseBlock) -> Option<Block> {
        match block {
            ProseBlock::Paragraph(inlines, _) => Some(Block::Text {
                runs: self.plain_runs(inlines),
            }),
            ProseBlock::List(list) => {
                let mut items = Vec::new();
                self.points(list, &mut items);
                Some(Block::Bullets { items })
            }
            ProseBlock::Heading(_) | ProseBlock::Quote(..) => None,
        }
    }

    /// The points of a plain list, those of lists within it after the point they belong to.
    fn points(&self, list: &List, items: &mut Vec<Vec<TextRun>>) {
        for item in &list.items {
            let mut runs = Vec::new();
            let mut inner = Vec::new();
            for block in &item.blocks {
                match block {
                    ProseBlock::Paragraph(inlines, _) => {
                        if !runs.is_empty() {
                            runs.push(TextRun::Break);
                        }
                        runs.extend(self.plain_runs(inlines));
                    }
                    ProseBlock::List(list) => self.points(list, &mut inner),
                    ProseBlock::Heading(_) | ProseBlock::Quote(..) => {}
                }
            }
            items.push(runs);
            items.append(&mut inner);
        }
    }

    /// Prose without actions other than references.
    pub(crate) fn plain_runs(&self, inlines: &[Inline]) -> Vec<TextRun> {
        self.runs(inlines, &[])
    }

    fn step(&self, step: &job::JobStep<'_>) -> DocumentStep {
        let blanks = step.actions.iter().filter_map(|action| self.record(action));
        let figures = step.figures.iter().filter_map(|image| self.figure(image));
        let holds = step.actions.iter().filter_map(|action| match action.thing {
            Thing::Role(role) => Some(role.name.clone()),
            _ => None,
        });
        let details = step
            .all_actions()
            .flat_map(|action| self.details(action, step));
        let mut notes: Vec<Vec<TextRun>> = self.own_notes(step).collect();
        notes.extend(self.added_notes(step));
        let full = Arc::new(SheetStepContent {
            text: self.runs(&step.text, &step.actions),
            notes,
            details: details.collect(),
            blanks: blanks.collect(),
            figures: figures.collect(),
            holds: holds.collect(),
        });
        DocumentStep {
            number: step.number,
            before: step
                .cautions
                .iter()
                .map(|caution| self.desk.message(caution))
                .collect(),
            same_as: same_as(step),
            at_bench: self.at_bench(step, &full),
            full,
        }
    }

    /// What is done in a step as a checklist says it: without figures and without what is only told,
    /// and with the states and bags that are ticked.
    fn at_bench(
        &self,
        step: &job::JobStep<'_>,
        full: &Arc<SheetStepContent>,
    ) -> Arc<SheetStepContent> {
        let paragraphs =
            || std::iter::once(&*step.text).chain(step.notes.iter().map(Vec::as_slice));
        let refers_to_figure = paragraphs().flat_map(prose::actions).any(|link| {
            let place = self.job.places.get(&link.span);
            matches!(place, Some(ReferenceTarget::Figure(_)))
        });
        // What is only told is left to the shop sheet; what is done, or looked at by whoever
        // signs a hold, stays.
        let has_hold = step.actions.iter().any(|action| action.verb == Verb::Hold);
        let is_told = |note: &[Inline]| {
            let mut actions = prose::actions(note);
            !has_hold && actions.all(|link| link.verb == Verb::See)
        };
        let mut blanks = Vec::new();
        for action in &step.actions {
            blanks.extend(self.record(action));
            blanks.extend(self.response(action));
        }
        let is_same = !refers_to_figure
            && full.figures.is_empty()
            && full.blanks == blanks
            && !step.notes.iter().any(|note| is_told(note));
        if is_same {
            return Arc::clone(full);
        }
        let writer = Writer {
            has_figures: false,
            ..*self
        };
        let told = step.notes.iter().map(|note| is_told(note));
        let mut notes: Vec<Vec<TextRun>> = writer
            .own_notes(step)
            .zip(told)
            .filter_map(|(note, is_told)| (!is_told).then_some(note))
            .collect();
        notes.extend(writer.added_notes(step));
        Arc::new(SheetStepContent {
            text: writer.runs(&step.text, &step.actions),
            notes,
            details: full.details.clone(),
            blanks,
            figures: Vec::new(),
            holds: full.holds.clone(),
        })
    }

    /// The notes that the author wrote.
    fn own_notes<'s>(
        &'s self,
        step: &'s job::JobStep<'_>,
    ) -> impl Iterator<Item = Vec<TextRun>> + 's {
        let notes = step.notes.iter();
        notes.map(|note| self.runs(note, &step.actions))
    }

    /// The notes that the machine's record and the step's waivers add.
    fn added_notes<'s>(
        &'s self,
        step: &'s job::JobStep<'_>,
    ) -> impl Iterator<Item = Vec<TextRun>> + 's {
        let actions = step.actions.iter();
        let instructions = actions.filter_map(|action| self.instruction_note(action, step));
        instructions.chain(step.excuses.iter().map(|(_, reason)| {
            let why = self.desk.words().say("meant-so", &[("why", reason)]);
            vec![TextRun::Emphasis {
                runs: vec![TextRun::text(why)],
            }]
        }))
    }

    /// The machine's own instruction for an action, where the step's text does not already say it.
    fn instruction_note(
        &self,
        action: &Action<'_>,
        step: &job::JobStep<'_>,
    ) -> Option<Vec<TextRun>> {
        let run = &self.job.machine.run;
        let of_machine: Option<&Instruction> = match (action.verb, action.thing) {
            (Verb::Run, _) => run.start.as_ref(),
            (Verb::Stop, _) => run.stop.as_ref(),
            (verb, Thing::Energy(energy)) if is_worded(action, step) => match verb {
                Verb::Isolate => Some(&energy.isolate),
                Verb::Prove => Some(&energy.prove),
                Verb::Restore => Some(&energy.restore),
                _ => None,
            },
            _ => None,
        };
        of_machine.map(|text| self.runs(text, &action.inner))
    }

    /// The step at which a part's place was noted.
    pub(crate) fn noted_at(&self, part: &Part) -> Option<u32> {
        let mut notes = self.rehearsal.moves_of(part.id, &[Verb::Note]);
        notes.next().map(|note| note.at.step)
    }

    /// A reading taken once is written as found and as left; taken more often, each time has its own box.
    pub(crate) fn boxes(&self, reading: &Reading, action: &Action<'_>) -> Vec<String> {
        let measured: Vec<_> = self
            .job
            .steps()
            .flat_map(|step| step.all_actions())
            .filter(|other| {
                other.verb == Verb::Measure && other.thing.id() == Some(reading.id.into())
            })
            .map(|other| other.span)
            .collect();
        let at = measured.iter().position(|span| *span == action.span);
        let names: &[&str] = match at {
            _ if measured.len() < 2 => &["as-found", "as-left"],
            Some(0) => &["as-found"],
            Some(at) if at + 1 == measured.len() => &["as-left"],
            _ => &["reading-box"],
        };
        let words = self.desk.words();
        names.iter().map(|key| words.get(key).to_owned()).collect()
    }

    /// The figures of the job's shop sheet in order, by the tree's paths.
    fn figures(&self) -> Vec<&str> {
        let mut paths: Vec<&str> = Vec::new();
        let images = self.job.sections.iter().flat_map(|section| &section.items);
        for item in images {
            let images: &[Image] = match item {
                JobItem::Figure(image) => std::slice::from_ref(*image),
                JobItem::Step(step) => step.figures,
                JobItem::Text(_) => &[],
            };
            for image in images {
                if let Some(path) = self.job.figures.get(&image.path.span).copied()
                    && !paths.contains(&path)
                {
                    paths.push(path);
                }
            }
        }
        paths
    }

    /// A figure's number on the job's shop sheet.
    pub(crate) fn figure_number(&self, path: &str) -> Option<u32> {
        let at = self.figures().iter().position(|other| *other == path)?;
        u32::try_from(at + 1).ok()
    }

    pub(crate) fn figure(&self, image: &Image) -> Option<Figure> {
        let path = self.job.figures.get(&image.path.span)?;
        let id = FigureId((*path).to_owned());
        Some(Figure {
            content: self.desk.output.figure_content(&id)?.to_owned(),
            id,
            number: self.figure_number(path)?,
            alt: image.alt.clone(),
            caption: image.caption.clone(),
        })
    }
}

/// What tells a step from the others of a procedure, the same on every machine.
fn same_as(step: &job::JobStep<'_>) -> String {
    let mut text = format!("{}/{}", step.origin.id, prose::plain(&step.text));
    for action in &step.actions {
        text.push_str(action.verb.word());
        text.push_str(action.thing.key());
    }
    Fingerprint::of_bytes(text.as_bytes()).short()
}

/// Whether the author gave the action words of their own.
fn is_worded(action: &Action<'_>, step: &job::JobStep<'_>) -> bool {
    fn search(inlines: &[Inline], action: &Action<'_>) -> bool {
        inlines.iter().any(|inline| match inline {
            Inline::Action(link, text) => link.span == action.span && !text.is_empty(),
            Inline::Strong(parts) | Inline::Emphasis(parts) | Inline::Link(_, parts) => {
                search(parts, action)
            }
            _ => false,
        })
    }
    search(&step.text, action) || step.notes.iter().any(|note| search(note, action))
}
