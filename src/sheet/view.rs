//! Views of what pages say of a job: in full, at the bench, to read on a screen, to read in a book.

use super::section::{DocumentStep, SectionItem, StepSection};
use crate::page::{
    Blank, Block, Cell, Detail, PageContext, SectionId, SheetSection, SheetStep, SheetStepContent,
    Table, TextRun,
};
use std::sync::Arc;

/// Who a section's steps are shown to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum View {
    /// Whoever works from the shop sheet or the manual.
    Full,
    /// Whoever ticks them at the bench.
    AtBench,
    /// Whoever only reads them, on a screen.
    ToRead,
}

impl StepSection {
    /// The section in a view; none where the view shows nothing of it.
    pub(crate) fn view(&self, view: View, context: PageContext<'_>) -> Option<Block> {
        let mut blocks = Vec::new();
        for item in &self.items {
            let block = match item {
                SectionItem::Step(step) => {
                    let step = step.view(view, context);
                    if let Some(Block::Steps { steps }) = blocks.last_mut() {
                        steps.push(step);
                        continue;
                    }
                    Block::Steps { steps: vec![step] }
                }
                SectionItem::Stop(stop) => Block::Stop(stop.clone()),
                // A checklist has a line for each step: what is read beforehand is on the shop sheet.
                SectionItem::Text(_) | SectionItem::Figure(_) if view == View::AtBench => continue,
                SectionItem::Text(block) => block.clone(),
                SectionItem::Figure(figure) => Block::Figure(figure.clone()),
            };
            blocks.push(block);
        }
        if view == View::ToRead && blocks.is_empty() {
            return None;
        }
        Some(Block::Section(SheetSection {
            id: SectionId::Steps(self.number),
            title: self.title.clone(),
            from: self.from.clone(),
            blocks,
        }))
    }
}

impl DocumentStep {
    fn view(&self, view: View, context: PageContext<'_>) -> SheetStep {
        SheetStep {
            number: self.number,
            same_as: (view == View::ToRead).then(|| self.same_as.clone()),
            before: self.before.clone(),
            content: match view {
                View::Full => Arc::clone(&self.full),
                View::AtBench => Arc::clone(&self.at_bench),
                View::ToRead => content_to_read(&self.full, context),
            },
        }
    }
}

/// What is done in a step, without room to write or sign: limits and positions are told in the place
/// of what is written beside them.
fn content_to_read(
    full: &Arc<SheetStepContent>,
    context: PageContext<'_>,
) -> Arc<SheetStepContent> {
    if full.blanks.is_empty() && full.holds.is_empty() {
        return Arc::clone(full);
    }
    let words = context.words();
    let told = |blank: &Blank| match blank {
        Blank::Reading {
            label,
            limits,
            over,
            under,
            ..
        } => Some(Detail {
            label: label.clone(),
            value: Some(limits.clone()),
            more: [over, under].into_iter().flatten().cloned().collect(),
        }),
        Blank::Choice { label, options } => Some(Detail {
            label: label.clone(),
            value: None,
            more: vec![format!(
                "{}: {}",
                words.get("could-sit-in"),
                options.join(", ")
            )],
        }),
        Blank::Words { .. } | Blank::State { .. } | Blank::Bag { .. } => None,
    };
    let mut to_read = SheetStepContent::clone(full);
    to_read.details.extend(full.blanks.iter().filter_map(told));
    to_read.blanks.clear();
    // Who has to sign before anyone goes on, without room to do so.
    to_read.notes.extend(full.holds.iter().map(|role| {
        let role = TextRun::Strong {
            runs: vec![TextRun::text(format!("{}: {role}", words.get("hold")))],
        };
        vec![role, TextRun::text(format!(" {}", words.get("hold-for")))]
    }));
    to_read.holds.clear();
    Arc::new(to_read)
}

/// A block with its tables as a screen shows them.
pub(crate) fn block_to_read(block: Block) -> Block {
    match block {
        Block::Section(mut section) => {
            let blocks = std::mem::take(&mut section.blocks).into_iter();
            section.blocks = blocks.map(block_to_read).collect();
            Block::Section(section)
        }
        Block::Table(table) => Block::Table(table_to_read(table)),
        other => other,
    }
}

/// A table without columns that are only written in; what is ticked elsewhere is told.
fn table_to_read(mut table: Table) -> Table {
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

/// Blocks with their tables as a book shows them: without the columns in which something is written or
/// ticked, since nobody writes in the book.
pub(crate) fn blocks_of_book(blocks: Vec<Block>) -> Vec<Block> {
    let blocks = blocks.into_iter().map(|block| match block {
        Block::Section(mut section) => {
            section.blocks = blocks_of_book(section.blocks);
            Block::Section(section)
        }
        Block::Table(mut table) => {
            drop_columns(&mut table, |cell| {
                matches!(cell, Cell::Blank | Cell::Tick | Cell::Choice { .. })
            });
            Block::Table(table)
        }
        other => other,
    });
    blocks.collect()
}

/// Drops the columns of which every cell is an entry. A table without rows stays as it is.
fn drop_columns(table: &mut Table, is_entry: impl Fn(&Cell) -> bool) {
    if table.rows.is_empty() {
        return;
    }
    let kept: Vec<bool> = (0..table.columns.len())
        .map(|at| {
            let mut cells = table.rows.iter().filter_map(|row| row.get(at));
            !cells.all(&is_entry)
        })
        .collect();
    retain(&kept, &mut table.columns);
    for row in &mut table.rows {
        retain(&kept, row);
    }
}

/// Keeps the items at the places that are kept.
fn retain<T>(kept: &[bool], list: &mut Vec<T>) {
    let mut kept = kept.iter();
    list.retain(|_| kept.next().copied().unwrap_or_default());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::Column;

    #[test]
    fn a_book_has_no_column_to_write_in() {
        let column = |title: &str| Column {
            title: title.to_owned(),
            share: 1,
        };
        let options = vec!["right".to_owned()];
        let blocks = blocks_of_book(vec![Block::Table(Table {
            caption: String::new(),
            columns: vec![column("cause"), column("found"), column("remedy")],
            rows: vec![
                vec![Cell::text("1"), Cell::Blank, Cell::text("")],
                vec![Cell::text("2"), Cell::Choice { options }, Cell::text("")],
            ],
        })]);
        let [Block::Table(table)] = blocks.as_slice() else {
            panic!("a table stays a table");
        };
        let titles = table.columns.iter().map(|column| column.title.as_str());
        assert_eq!(titles.collect::<Vec<_>>(), ["cause", "remedy"]);
        assert!(table.rows.iter().all(|row| row.len() == 2));
    }
}
