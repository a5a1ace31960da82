//! Visits and maps the links and figures of blocks.

use super::{Block, Cell, Figure, LinkTarget, SheetStepContent, TextRun};
use std::sync::Arc;

/// Calls a function for every link target and every figure of some blocks, in reading order.
struct Visitor<'v> {
    target: &'v mut dyn FnMut(&LinkTarget),
    figure: &'v mut dyn FnMut(&Figure),
}

impl Visitor<'_> {
    fn blocks(&mut self, blocks: &[Block]) {
        for block in blocks {
            self.block(block);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Section(section) => self.blocks(&section.blocks),
            Block::Text { runs } | Block::Note { runs } => self.runs(runs),
            Block::SetUp { lines } => lines.iter().for_each(|line| self.runs(&line.runs)),
            Block::Bullets { items } => items.iter().for_each(|item| self.runs(item)),
            Block::Table(table) => {
                for cell in table.rows.iter().flatten() {
                    match cell {
                        Cell::Text { runs } => self.runs(runs),
                        Cell::Place { link, .. } => link.iter().for_each(&mut *self.target),
                        _ => {}
                    }
                }
            }
            Block::Steps { steps } => steps.iter().for_each(|step| self.content(&step.content)),
            Block::Figure(figure) => (self.figure)(figure),
            Block::Safety(_)
            | Block::Notices { .. }
            | Block::Drawings { .. }
            | Block::Protection { .. }
            | Block::Stop(_)
            | Block::SignOff { .. }
            | Block::WrongHere { .. }
            | Block::Listing(_) => {}
        }
    }

    fn content(&mut self, content: &SheetStepContent) {
        content.above.iter().for_each(|note| self.runs(note));
        self.runs(&content.text);
        content.notes.iter().for_each(|note| self.runs(note));
        content
            .figures
            .iter()
            .for_each(|figure| (self.figure)(figure));
    }

    fn runs(&mut self, runs: &[TextRun]) {
        for run in runs {
            match run {
                TextRun::Link { target, runs, .. } => {
                    (self.target)(target);
                    self.runs(runs);
                }
                TextRun::PageNumber { target } => (self.target)(target),
                TextRun::Strong { runs }
                | TextRun::Emphasis { runs }
                | TextRun::Foreign { runs, .. } => self.runs(runs),
                TextRun::Text { .. }
                | TextRun::Code { .. }
                | TextRun::Callout { .. }
                | TextRun::Break => {}
            }
        }
    }
}

/// Calls `target` for the target of every link in the blocks.
pub(crate) fn visit_links(blocks: &[Block], mut target: impl FnMut(&LinkTarget)) {
    let (target, figure) = (&mut target, &mut |_: &Figure| {});
    Visitor { target, figure }.blocks(blocks);
}

/// Calls `figure` for every figure in the blocks.
pub(crate) fn visit_figures(blocks: &[Block], mut figure: impl FnMut(&Figure)) {
    let (target, figure) = (&mut |_: &LinkTarget| {}, &mut figure);
    Visitor { target, figure }.blocks(blocks);
}

/// Calls `target` and `figure` for the link targets and the figures of one block.
pub(crate) fn visit_block(
    block: &Block,
    target: &mut dyn FnMut(&LinkTarget),
    figure: &mut dyn FnMut(&Figure),
) {
    Visitor { target, figure }.block(block);
}

/// Calls `target` and `figure` for the link targets and the figures of a step's content.
pub(crate) fn visit_content(
    content: &SheetStepContent,
    target: &mut dyn FnMut(&LinkTarget),
    figure: &mut dyn FnMut(&Figure),
) {
    Visitor { target, figure }.content(content);
}

/// Replaces the target of every link by `resolve`. A link that resolves to `None` becomes plain
/// text.
pub(crate) fn map_links_of_blocks(
    blocks: Vec<Block>,
    resolve: &dyn Fn(&LinkTarget) -> Option<LinkTarget>,
) -> Vec<Block> {
    let blocks = blocks.into_iter();
    blocks
        .map(|block| map_links_of_block(block, resolve))
        .collect()
}

fn map_links_of_block(block: Block, resolve: &dyn Fn(&LinkTarget) -> Option<LinkTarget>) -> Block {
    match block {
        Block::Section(mut section) => {
            section.blocks = map_links_of_blocks(section.blocks, resolve);
            Block::Section(section)
        }
        Block::Text { runs } => Block::Text {
            runs: map_links(runs, resolve),
        },
        Block::Note { runs } => Block::Note {
            runs: map_links(runs, resolve),
        },
        Block::Bullets { items } => {
            let items = items.into_iter().map(|item| map_links(item, resolve));
            Block::Bullets {
                items: items.collect(),
            }
        }
        Block::SetUp { mut lines } => {
            for line in &mut lines {
                line.runs = map_links(std::mem::take(&mut line.runs), resolve);
            }
            Block::SetUp { lines }
        }
        Block::Table(mut table) => {
            for cell in table.rows.iter_mut().flatten() {
                match cell {
                    Cell::Text { runs } => *runs = map_links(std::mem::take(runs), resolve),
                    Cell::Place { link, .. } => *link = None,
                    _ => {}
                }
            }
            Block::Table(table)
        }
        Block::Steps { mut steps } => {
            for step in &mut steps {
                if has_links(&step.content) {
                    let content = Arc::make_mut(&mut step.content);
                    content.text = map_links(std::mem::take(&mut content.text), resolve);
                    for note in content.above.iter_mut().chain(&mut content.notes) {
                        *note = map_links(std::mem::take(note), resolve);
                    }
                }
            }
            Block::Steps { steps }
        }
        unlinked => unlinked,
    }
}

fn has_links(content: &SheetStepContent) -> bool {
    let mut has_any = false;
    visit_content(content, &mut |_| has_any = true, &mut |_| {});
    has_any
}

/// Maps the links of runs as [`map_links_of_blocks`] does.
pub(crate) fn map_links(
    runs: Vec<TextRun>,
    resolve: &dyn Fn(&LinkTarget) -> Option<LinkTarget>,
) -> Vec<TextRun> {
    let mut mapped = Vec::with_capacity(runs.len());
    for run in runs {
        match run {
            TextRun::Link { target, runs, name } => {
                let runs = map_links(runs, resolve);
                if let Some(target) = resolve(&target) {
                    mapped.push(TextRun::Link { target, runs, name });
                } else {
                    mapped.extend(runs);
                    mapped.extend(name.map(|name| TextRun::text(format!(" ({name})"))));
                }
            }
            TextRun::Strong { runs } => mapped.push(TextRun::Strong {
                runs: map_links(runs, resolve),
            }),
            TextRun::Emphasis { runs } => mapped.push(TextRun::Emphasis {
                runs: map_links(runs, resolve),
            }),
            TextRun::Foreign { language, runs } => mapped.push(TextRun::Foreign {
                language,
                runs: map_links(runs, resolve),
            }),
            unlinked => mapped.push(unlinked),
        }
    }
    mapped
}
