//! Views of a job's content: for the shop sheet, the checklist, a screen and the manual.

use super::section::{DocumentStep, Inspection, SectionFigure, SectionItem, StepSection};
use crate::page::{
    Blank, Block, Cell, Detail, Figure, PageContext, SafetyMessage, SectionId, SheetSection,
    SheetStep, SheetStepContent, StepMessage, Table, TextRun,
};
use std::collections::BTreeSet;
use std::sync::Arc;

/// A view of a job's steps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum View {
    /// The shop sheet: everything, without blanks to fill in.
    Reading,
    /// The manual: as the shop sheet, with smaller figures. Whole figures are in the lists of parts.
    Book,
    /// The checklist: the steps and figures, with boxes to tick, without the text between steps.
    Checklist,
}

/// The safety messages that a page has already given.
#[derive(Debug, Default)]
pub(crate) struct Given {
    /// The ids of those given in full.
    in_full: BTreeSet<String>,
    /// The ids of those given in the section.
    in_section: BTreeSet<String>,
}

impl Given {
    /// For a page that begins with some messages in full.
    pub(crate) fn in_full<'m>(messages: impl Iterator<Item = &'m SafetyMessage>) -> Given {
        Given {
            in_full: messages.map(|message| message.id.clone()).collect(),
            in_section: BTreeSet::new(),
        }
    }

    /// A message above a step: in full where it is met first, and then once in each section. `None` if the section
    /// has it.
    fn next(&mut self, message: &SafetyMessage) -> Option<StepMessage> {
        let is_new = self.in_section.insert(message.id.clone());
        is_new.then(|| StepMessage {
            message: message.clone(),
            again: !self.in_full.insert(message.id.clone()),
        })
    }
}

impl StepSection {
    /// The section in a view. `given` are the messages that the page has before it. `None` on a screen if the section
    /// is empty.
    pub(crate) fn view(
        &self,
        view: View,
        context: PageContext<'_>,
        given: &mut Given,
    ) -> Option<Block> {
        given.in_section.clear();
        if let Some(inspection) = self.inspection.as_ref().filter(|_| view != View::Checklist) {
            let blocks = self.inspection_blocks(inspection, view, given);
            return (!blocks.is_empty()).then(|| self.section(blocks));
        }
        let mut blocks = Vec::new();
        for item in &self.items {
            let block = match item {
                SectionItem::Step(step) => {
                    let step = step.view(view, context, given);
                    if let Some(Block::Steps { steps }) = blocks.last_mut() {
                        steps.push(step);
                        continue;
                    }
                    Block::Steps { steps: vec![step] }
                }
                SectionItem::Stop(stop) => Block::Stop(stop.clone()),
                // Nobody ticks text between steps. It is on the shop sheet.
                SectionItem::Text(_) if view == View::Checklist => continue,
                SectionItem::Text(block) => block.clone(),
                SectionItem::Figure(figure) => match figure.view(view) {
                    Some(figure) => Block::Figure(figure),
                    None => continue,
                },
            };
            blocks.push(block);
        }
        if view != View::Checklist && blocks.is_empty() {
            return None;
        }
        blocks.extend(
            self.inspection
                .iter()
                .map(|inspection| inspection.done.clone()),
        );
        Some(self.section(blocks))
    }

    fn section(&self, blocks: Vec<Block>) -> Block {
        Block::Section(SheetSection {
            id: SectionId::Steps(self.number),
            title: self.title.clone(),
            from: self.from.clone(),
            blocks,
        })
    }

    /// The blocks of an inspection that is read: its table in place of the steps, with their messages above it, and with
    /// their figures, which do not fit into a table, below it.
    fn inspection_blocks(
        &self,
        inspection: &Inspection,
        view: View,
        given: &mut Given,
    ) -> Vec<Block> {
        fn step_of(item: &SectionItem) -> Option<&DocumentStep> {
            match item {
                SectionItem::Step(step) => Some(step),
                _ => None,
            }
        }
        let other = |item: &SectionItem| match item {
            SectionItem::Step(_) => None,
            SectionItem::Stop(stop) => Some(Block::Stop(stop.clone())),
            SectionItem::Text(block) => Some(block.clone()),
            SectionItem::Figure(figure) => figure.view(view).map(Block::Figure),
        };
        let first = self.items.iter().position(|item| step_of(item).is_some());
        let (above, below) = self.items.split_at(first.unwrap_or(self.items.len()));
        let mut blocks: Vec<Block> = above.iter().filter_map(other).collect();
        let messages = below
            .iter()
            .filter_map(step_of)
            .flat_map(|step| &step.before);
        let messages = messages.filter_map(|message| given.next(message));
        let new = messages.filter(|message| !message.again);
        blocks.extend(new.map(|message| Block::Safety(message.message)));
        blocks.extend(inspection.table.clone());
        let figures = below
            .iter()
            .filter_map(step_of)
            .flat_map(|step| &step.full.figures);
        blocks.extend(figures.cloned().map(Block::Figure));
        blocks.extend(below.iter().filter_map(other));
        blocks
    }
}

impl SectionFigure {
    /// The figure in a view. `None` if the view does not have it.
    fn view(&self, view: View) -> Option<Figure> {
        match view {
            View::Reading => Some(self.full.clone()),
            View::Book => (!self.full.optional).then(|| self.full.clone()),
            View::Checklist => self.checklist.clone(),
        }
    }
}

impl DocumentStep {
    fn view(&self, view: View, context: PageContext<'_>, given: &mut Given) -> SheetStep {
        SheetStep {
            number: self.number,
            same_as: (view != View::Checklist).then(|| self.same_as.clone()),
            key: (view == View::Checklist).then(|| self.key.clone()),
            initials: view == View::Checklist && context.shop.initials_per_step,
            before: self
                .before
                .iter()
                .filter_map(|message| given.next(message))
                .collect(),
            content: match view {
                View::Checklist => Arc::clone(&self.checklist),
                View::Reading => reading_content(&self.full, context),
                View::Book => {
                    let mut shown = reading_content(&self.full, context);
                    if shown.figures != self.checklist.figures {
                        let figures = &mut Arc::make_mut(&mut shown).figures;
                        figures.clone_from(&self.checklist.figures);
                    }
                    shown
                }
            },
        }
    }
}

/// A step's content on a screen. Blanks and holds become text: limits and positions are printed as
/// details.
fn reading_content(
    full: &Arc<SheetStepContent>,
    context: PageContext<'_>,
) -> Arc<SheetStepContent> {
    if full.blanks.is_empty() && full.wear.is_empty() && full.holds.is_empty() {
        return Arc::clone(full);
    }
    let words = context.words();
    let detail = |blank: &Blank| match blank {
        Blank::Reading {
            label,
            limits,
            over,
            under,
            ..
        }
        | Blank::Level {
            label,
            limits,
            over,
            under,
            ..
        } => Some(Detail {
            label: label.clone(),
            value: Some(limits.clone()),
            more: [over, under].into_iter().flatten().cloned().collect(),
            noted: None,
        }),
        Blank::Choice { label, options, .. } => Some(Detail {
            label: label.clone(),
            value: None,
            more: vec![format!(
                "{}: {}",
                words.get("possible-positions"),
                options.join(", ")
            )],
            noted: None,
        }),
        Blank::Words { .. } | Blank::Bag { .. } | Blank::Wait { .. } => None,
    };
    let mut shown = SheetStepContent::clone(full);
    shown.details.extend(full.blanks.iter().filter_map(detail));
    shown.blanks.clear();
    for table in &mut shown.wear {
        table.to_fill = false;
    }
    // Name the role that must sign, without a line to sign on.
    shown.notes.extend(full.holds.iter().map(|role| {
        let role = TextRun::Strong {
            runs: vec![TextRun::text(format!("{}: {role}", words.get("hold")))],
        };
        vec![role, TextRun::text(format!(" {}", words.get("hold-for")))]
    }));
    shown.holds.clear();
    Arc::new(shown)
}

/// A block for a screen: its tables have no blanks.
pub(crate) fn screen_block(block: Block) -> Block {
    match block {
        Block::Section(mut section) => {
            let blocks = std::mem::take(&mut section.blocks).into_iter();
            section.blocks = blocks.map(screen_block).collect();
            Block::Section(section)
        }
        Block::Table(table) => Block::Table(screen_table(table)),
        block => block,
    }
}

/// A table without the columns that are only filled in by hand. Options are printed as text.
fn screen_table(mut table: Table) -> Table {
    drop_columns(&mut table, |cell| matches!(cell, Cell::Blank | Cell::Tick));
    for cell in table.rows.iter_mut().flatten() {
        match cell {
            Cell::Choice { options } => *cell = Cell::text(options.join(", ")),
            Cell::Blank | Cell::Tick => *cell = Cell::text(""),
            _ => {}
        }
    }
    table
}

/// Blocks for the manual: its tables have no columns to fill in or tick, since nobody writes in a
/// bound copy.
pub(crate) fn book_blocks(blocks: Vec<Block>) -> Vec<Block> {
    let blocks = blocks.into_iter().map(|block| match block {
        Block::Section(mut section) => {
            section.blocks = book_blocks(section.blocks);
            Block::Section(section)
        }
        Block::Table(mut table) => {
            drop_columns(&mut table, |cell| {
                matches!(cell, Cell::Blank | Cell::Tick | Cell::Choice { .. })
            });
            Block::Table(table)
        }
        block => block,
    });
    blocks.collect()
}

/// Drops the columns in which every cell is an entry. A table without rows is unchanged.
fn drop_columns(table: &mut Table, is_entry: impl Fn(&Cell) -> bool) {
    if table.rows.is_empty() {
        return;
    }
    let kept: Vec<bool> = (0..table.columns.len())
        .map(|index| {
            let mut cells = table.rows.iter().filter_map(|row| row.get(index));
            !cells.all(&is_entry)
        })
        .collect();
    retain(&kept, &mut table.columns);
    for row in &mut table.rows {
        retain(&kept, row);
    }
}

/// Keeps the items whose flag is set.
fn retain<T>(kept: &[bool], list: &mut Vec<T>) {
    let mut kept = kept.iter();
    list.retain(|_| kept.next().copied().unwrap_or_default());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::Column;

    #[test]
    fn book_tables_have_no_columns_to_fill_in() {
        let column = |title: &str| Column {
            title: title.to_owned(),
            share: 1,
        };
        let options = vec!["right".to_owned()];
        let blocks = book_blocks(vec![Block::Table(Table {
            caption: String::new(),
            columns: vec![column("cause"), column("found"), column("remedy")],
            rows: vec![
                vec![Cell::text("1"), Cell::Blank, Cell::text("")],
                vec![Cell::text("2"), Cell::Choice { options }, Cell::text("")],
            ],
        })]);
        let [Block::Table(table)] = blocks.as_slice() else {
            panic!("the block is still a table");
        };
        let titles = table.columns.iter().map(|column| column.title.as_str());
        assert_eq!(titles.collect::<Vec<_>>(), ["cause", "remedy"]);
        assert!(table.rows.iter().all(|row| row.len() == 2));
    }
}
