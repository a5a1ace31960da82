//! The sections of a job, with their steps, notes and figures.

use super::section::{DocumentStep, SectionItem, StepSection};
use super::writer::Writer;
use crate::cache::Fingerprint;
use crate::job::{self, Action, JobItem, Phase, Thing};
use crate::page::{
    Blank, Block, FigureSize, PageContext, SheetStepContent, StepKey, TextRun, plain,
};
use crate::prose::{self, Inline, List, Note, ProseBlock, Verb};
use crate::rehearsal::Moment;
use crate::shop::{Instruction, Part, Reading, capitalised};
use std::collections::BTreeMap;
use std::sync::Arc;

impl Writer<'_, '_> {
    pub(crate) fn sections(&self) -> Vec<StepSection> {
        let ends = self.group_ends();
        let numbered = self.job.sections.iter().enumerate();
        let mut sections: Vec<StepSection> = numbered
            .map(|(index, section)| {
                let is_own = section.origin.id == self.job.procedure.id;
                let from = (section.phase != Phase::Own || !is_own)
                    .then(|| section.origin.title.value.clone());
                // The heading of an inspection is an interval, which each language has words for.
                let title = if section.is_inspection {
                    capitalised(&self.context.interval(section.title))
                } else {
                    section.title.to_owned()
                };
                let title = if section.is_continued {
                    let values = [("title", title.as_str())];
                    self.context.words().format("continued", &values)
                } else {
                    title
                };
                StepSection {
                    number: index + 1,
                    inspection: self.inspection(section, &title),
                    title,
                    from,
                    items: self.items(index, section, &ends),
                }
            })
            .collect();
        distinguish(&mut sections);
        sections
    }

    fn items(&self, index: usize, section: &job::JobSection<'_>, ends: &[u32]) -> Vec<SectionItem> {
        let heads = self.head_figures(index);
        let mut items: Vec<SectionItem> = heads.into_iter().map(SectionItem::Figure).collect();
        for item in &section.items {
            match item {
                JobItem::Step(step) => {
                    items.push(SectionItem::Step(self.step(step, section.is_inspection)));
                    items.extend(self.stop(ends, step.number).map(SectionItem::Stop));
                }
                JobItem::Text(block) => items.extend(self.text(block).map(SectionItem::Text)),
                JobItem::Figure(image) => {
                    items.extend(self.section_figure(image).map(SectionItem::Figure));
                }
            }
        }
        items
    }

    /// The block of a paragraph, a plain list or a note. `None` for a heading or a quote.
    pub(crate) fn text(&self, block: &ProseBlock) -> Option<Block> {
        match block {
            ProseBlock::Paragraph(inlines, _) => Some(Block::Text {
                runs: self.plain_runs(inlines),
            }),
            ProseBlock::List(list) => {
                let mut items = Vec::new();
                self.push_list_items(list, &mut items);
                Some(Block::Bullets { items })
            }
            ProseBlock::Note(note) => Some(Block::Note {
                runs: self.note(note),
            }),
            ProseBlock::Heading(_) | ProseBlock::Quote(..) => None,
        }
    }

    /// Appends the items of a list. The items of a nested list follow the item that contains it.
    fn push_list_items(&self, list: &List, items: &mut Vec<Vec<TextRun>>) {
        for item in &list.items {
            let mut runs = Vec::new();
            let mut nested = Vec::new();
            for block in &item.blocks {
                match block {
                    ProseBlock::Paragraph(inlines, _) => {
                        if !runs.is_empty() {
                            runs.push(TextRun::Break);
                        }
                        runs.extend(self.plain_runs(inlines));
                    }
                    ProseBlock::List(list) => self.push_list_items(list, &mut nested),
                    ProseBlock::Heading(_) | ProseBlock::Quote(..) | ProseBlock::Note(_) => {}
                }
            }
            items.push(runs);
            items.append(&mut nested);
        }
    }

    /// Renders a note, with its word in the language of the page. Its paragraphs are separated by breaks.
    pub(crate) fn note(&self, note: &Note) -> Vec<TextRun> {
        let word = TextRun::text(self.context.words().get("note"));
        let mut runs = vec![TextRun::Strong { runs: vec![word] }];
        for (index, paragraph) in note.paragraphs.iter().enumerate() {
            runs.push(if index == 0 {
                TextRun::text(" ")
            } else {
                TextRun::Break
            });
            runs.extend(self.plain_runs(paragraph));
        }
        runs
    }

    /// The notes above a step.
    pub(crate) fn notes_above(&self, step: &job::JobStep<'_>) -> Vec<Vec<TextRun>> {
        step.above.iter().map(|note| self.note(note)).collect()
    }

    /// Renders prose that has no actions other than references.
    pub(crate) fn plain_runs(&self, inlines: &[Inline]) -> Vec<TextRun> {
        self.runs(inlines, &[])
    }

    fn step(&self, step: &job::JobStep<'_>, is_inspected: bool) -> DocumentStep {
        let writer = Writer {
            at_step: Some((step.number, FigureSize::Reading)),
            ..*self
        };
        writer.numbered_step(step, is_inspected)
    }

    /// A step whose parts have the numbers of its figure.
    fn numbered_step(&self, step: &job::JobStep<'_>, is_inspected: bool) -> DocumentStep {
        let blanks = step
            .actions
            .iter()
            .filter_map(|action| self.record_blank(action));
        let holds = step.actions.iter().filter_map(|action| match action.thing {
            Thing::Role(role) => Some(role.name.clone()),
            _ => None,
        });
        let details = step
            .all_actions()
            .flat_map(|action| self.details(action, step));
        let mut notes: Vec<Vec<TextRun>> = self.author_notes(step).collect();
        notes.extend(self.added_notes(step));
        let full = Arc::new(SheetStepContent {
            above: self.notes_above(step),
            only_if: self.only_if(step, false),
            repeat: self.repeat(step),
            text: self.runs(&step.text, &step.actions),
            notes,
            details: details.collect(),
            blanks: blanks.collect(),
            wear: self.wear_tables(step),
            figures: self.figures_of(step, FigureSize::Reading),
            drawings: self.drawings(step, false),
            holds: holds.collect(),
            tick: false,
        });
        DocumentStep {
            number: step.number,
            before: step
                .cautions
                .iter()
                .map(|caution| self.context.message(caution))
                .collect(),
            same_as: step_key(step),
            key: self.entry_key(step, is_inspected),
            checklist: self.checklist_content(step, is_inspected, &full),
            full,
        }
    }

    /// The content of a step on a checklist: with a box to tick, a decision, or a bag for removed parts.
    fn checklist_content(
        &self,
        step: &job::JobStep<'_>,
        is_inspected: bool,
        full: &SheetStepContent,
    ) -> Arc<SheetStepContent> {
        let blanks = self.checklist_blanks(step, is_inspected);
        let list = Writer {
            at_step: Some((step.number, FigureSize::List)),
            ..*self
        };
        let mut notes: Vec<Vec<TextRun>> = list.author_notes(step).collect();
        notes.extend(list.added_notes(step));
        let is_recorded = !full.wear.is_empty()
            || blanks
                .iter()
                .any(|blank| !matches!(blank, Blank::Bag { .. } | Blank::Wait { .. }));
        Arc::new(SheetStepContent {
            tick: !is_recorded && full.holds.is_empty(),
            only_if: self.only_if(step, true),
            blanks,
            text: list.runs(&step.text, &step.actions),
            notes,
            figures: self.figures_of(step, FigureSize::List),
            drawings: self.drawings(step, true),
            ..full.clone()
        })
    }

    /// What is filled in at a step on a checklist.
    fn checklist_blanks(&self, step: &job::JobStep<'_>, is_inspected: bool) -> Vec<Blank> {
        let mut blanks = Vec::new();
        for action in &step.actions {
            blanks.extend(self.record_blank(action));
            // An inspection renews nothing: it says whether the machine is ready.
            if !(is_inspected && action.verb == Verb::Inspect) {
                blanks.extend(self.bench_blank(action));
            }
        }
        if is_inspected {
            let verdict = self.verdict_of(step, &blanks);
            blanks.extend(verdict);
        }
        blanks
    }

    /// The key of what is entered at a step.
    fn entry_key(&self, step: &job::JobStep<'_>, is_inspected: bool) -> StepKey {
        let writer = Writer {
            context: PageContext {
                output: self.context.output.neutral(),
                ..self.context
            },
            has_figures: false,
            ..*self
        };
        let details = step
            .all_actions()
            .flat_map(|action| writer.details(action, step));
        // The word of a note tells it from a paragraph.
        let above = writer.notes_above(step).into_iter();
        let notes = above
            .chain(writer.author_notes(step))
            .chain(writer.added_notes(step));
        let blanks = writer.checklist_blanks(step, is_inspected);
        let blanks: Vec<Blank> = blanks.into_iter().map(without_decision).collect();
        let holds = step.actions.iter().filter_map(|action| match action.thing {
            Thing::Role(role) => Some(role.name.as_str()),
            _ => None,
        });
        let id = Fingerprint::of(&(
            &step.origin.id,
            plain(&writer.runs(&step.text, &step.actions)),
            notes.map(|note| plain(&note)).collect::<Vec<_>>(),
            details.collect::<Vec<_>>(),
            blanks,
            holds.collect::<Vec<_>>(),
        ));
        let wear = writer.wear_tables(step);
        // Without dimensions, the id is the one that earlier versions gave.
        let id = if wear.is_empty() {
            id
        } else {
            Fingerprint::of(&(id.short(), wear))
        };
        let outcome = (writer.only_if(step, true), writer.repeat(step));
        let id = if outcome == (None, None) {
            id
        } else {
            Fingerprint::of(&(id.short(), outcome))
        };
        let actions = step.actions.iter();
        let actions = actions.map(|action| (action.verb.word(), action.thing.key()));
        let actions: Vec<_> = actions.collect();
        let is_named = step.id.is_some() || !actions.is_empty();
        let like = match step.id {
            Some(id) => Fingerprint::of(&(&step.origin.id, id)),
            None => Fingerprint::of(&(&step.origin.id, actions)),
        };
        StepKey {
            id: id.short(),
            like: if is_named {
                like.short()
            } else {
                String::new()
            },
        }
    }

    /// The notes in the procedure's text.
    fn author_notes<'s>(
        &'s self,
        step: &'s job::JobStep<'_>,
    ) -> impl Iterator<Item = Vec<TextRun>> + 's {
        let notes = step.notes.iter();
        notes.map(|note| match self.not_ready(note) {
            Some(rest) => {
                let words = format!("{}:", self.context.words().get("not-ready-if"));
                let mut runs = vec![
                    TextRun::Strong {
                        runs: vec![TextRun::text(words)],
                    },
                    TextRun::text(" "),
                ];
                runs.extend(self.runs(&rest, &step.actions));
                runs
            }
            None => self.runs(note, &step.actions),
        })
    }

    /// The notes that come from the machine's record and from the step's waivers.
    pub(crate) fn added_notes<'s>(
        &'s self,
        step: &'s job::JobStep<'_>,
    ) -> impl Iterator<Item = Vec<TextRun>> + 's {
        let actions = step.actions.iter();
        let instructions = actions.filter_map(|action| self.instruction_note(action, step));
        instructions.chain(step.waivers.iter().map(|(_, reason)| {
            let why = self
                .context
                .words()
                .format("intentional", &[("why", reason)]);
            vec![TextRun::Emphasis {
                runs: vec![TextRun::text(why)],
            }]
        }))
    }

    /// The machine's instruction for an action, unless the step's text already prints it.
    fn instruction_note(
        &self,
        action: &Action<'_>,
        step: &job::JobStep<'_>,
    ) -> Option<Vec<TextRun>> {
        let run = &self.job.machine.run;
        let instruction: Option<&Instruction> = match (action.verb, action.thing) {
            (Verb::Run, _) => run.start.as_ref(),
            (Verb::Stop, _) => run.stop.as_ref(),
            (verb, Thing::Energy(energy)) if has_own_text(action, step) => match verb {
                Verb::Isolate => Some(&energy.isolate),
                Verb::Prove => Some(&energy.prove),
                Verb::Restore => Some(&energy.restore),
                _ => None,
            },
            _ => None,
        };
        instruction.map(|text| self.runs(text, &action.inner))
    }

    /// The action that notes a part's position.
    pub(crate) fn noted_at(&self, part: &Part) -> Option<Moment> {
        let mut notes = self.rehearsal.moves_of(part.id, &[Verb::Note]);
        notes.next().map(|note| note.moment)
    }

    /// The headings of a reading's boxes. If it is taken more often than once, each measurement has one box. A reading
    /// that is taken once has a second box if something can be done about it on the spot.
    pub(crate) fn boxes(&self, reading: &Reading, action: &Action<'_>) -> Vec<String> {
        let measured: Vec<_> = self
            .job
            .steps()
            .flat_map(|step| step.all_actions())
            .filter(|measure| {
                measure.verb == Verb::Measure && measure.thing.id() == Some(reading.id.into())
            })
            .map(|measure| measure.span)
            .collect();
        let index = measured.iter().position(|span| *span == action.span);
        let is_correctable = reading.over.is_some() || reading.under.is_some();
        let names: &[&str] = match index {
            _ if measured.len() < 2 && is_correctable => &["as-found", "as-left"],
            _ if measured.len() < 2 => &["found"],
            Some(0) => &["as-found"],
            Some(index) if index + 1 == measured.len() => &["as-left"],
            _ => &["reading-box"],
        };
        let words = self.context.words();
        names.iter().map(|key| words.get(key).to_owned()).collect()
    }
}

/// Numbers the steps with equal ids: the first keeps its id.
fn distinguish(sections: &mut [StepSection]) {
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    let items = sections.iter_mut().flat_map(|section| &mut section.items);
    for item in items {
        let SectionItem::Step(step) = item else {
            continue;
        };
        let count = counts.entry(step.key.id.clone()).or_default();
        *count += 1;
        if *count > 1 {
            step.key.id = format!("{}-{count}", step.key.id);
        }
    }
}

/// A blank without the part that it decides on, which its label names. So the ids of steps are those that earlier versions gave.
fn without_decision(mut blank: Blank) -> Blank {
    if let Blank::Choice { decides, .. } = &mut blank {
        *decides = None;
    }
    blank
}

/// A key that identifies a step in its procedure, the same on every machine.
fn step_key(step: &job::JobStep<'_>) -> String {
    let mut text = format!("{}/{}", step.origin.id, prose::plain(&step.text));
    for action in &step.actions {
        text.push_str(action.verb.word());
        text.push_str(action.thing.key());
    }
    Fingerprint::of_bytes(text.as_bytes()).short()
}

/// Whether the author gave the action a text.
pub(super) fn has_own_text(action: &Action<'_>, step: &job::JobStep<'_>) -> bool {
    fn is_in(inlines: &[Inline], action: &Action<'_>) -> bool {
        inlines.iter().any(|inline| match inline {
            Inline::Action(link, text) => link.span == action.span && !text.is_empty(),
            Inline::Strong(parts) | Inline::Emphasis(parts) | Inline::Link(_, parts) => {
                is_in(parts, action)
            }
            _ => false,
        })
    }
    is_in(&step.text, action) || step.notes.iter().any(|note| is_in(note, action))
}
