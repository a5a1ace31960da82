//! The links and the figures of what is on a page.

use super::{Block, Cell, Figure, LinkTarget, SheetStepContent, TextRun};
use std::sync::Arc;

/// What the targets and the figures of some blocks are handed to, in reading order.
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
            Block::Text { runs } => self.runs(runs),
            Block::Bullets { items } => items.iter().for_each(|item| self.runs(item)),
            Block::Table(table) => {
                for cell in table.rows.iter().flatten() {
                    if let Cell::Text { runs } = cell {
                        self.runs(runs);
                    }
                }
            }
            Block::Steps { steps } => steps.iter().for_each(|step| self.content(&step.content)),
            Block::Figure(figure) => (self.figure)(figure),
            Block::Safety(_)
            | Block::Notices { .. }
            | Block::Protection { .. }
            | Block::Stop(_)
            | Block::SignOff { .. }
            | Block::WrongHere { .. } => {}
        }
    }

    fn content(&mut self, content: &SheetStepContent) {
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
                TextRun::Strong { runs } | TextRun::Emphasis { runs } => self.runs(runs),
                TextRun::Text { .. } | TextRun::Code { .. } | TextRun::Break => {}
            }
        }
    }
}

/// Hands over the target of every link in some blocks.
pub(crate) fn links(blocks: &[Block], mut target: impl FnMut(&LinkTarget)) {
    let (target, figure) = (&mut target, &mut |_: &Figure| {});
    Visitor { target, figure }.blocks(blocks);
}

/// Hands over every figure in some blocks.
pub(crate) fn figures(blocks: &[Block], mut figure: impl FnMut(&Figure)) {
    let (target, figure) = (&mut |_: &LinkTarget| {}, &mut figure);
    Visitor { target, figure }.blocks(blocks);
}

/// Hands over the targets and the figures of one block.
pub(crate) fn visit_block(
    block: &Block,
    target: &mut dyn FnMut(&LinkTarget),
    figure: &mut dyn FnMut(&Figure),
) {
    Visitor { target, figure }.block(block);
}

/// Hands over the targets and the figures of what is done in a step.
pub(crate) fn visit_content(
    content: &SheetStepContent,
    target: &mut dyn FnMut(&LinkTarget),
    figure: &mut dyn FnMut(&Figure),
) {
    Visitor { target, figure }.content(content);
}

/// Blocks with every link led to another target, or made text where it has none. What has no link
/// stays as it is.
pub(crate) fn map_links_of_blocks(
    blocks: Vec<Block>,
    to: &dyn Fn(&LinkTarget) -> Option<LinkTarget>,
) -> Vec<Block> {
    let blocks = blocks.into_iter();
    blocks.map(|block| map_links_of_block(block, to)).collect()
}

fn map_links_of_block(block: Block, to: &dyn Fn(&LinkTarget) -> Option<LinkTarget>) -> Block {
    match block {
        Block::Section(mut section) => {
            section.blocks = map_links_of_blocks(section.blocks, to);
            Block::Section(section)
        }
        Block::Text { runs } => Block::Text {
            runs: map_links(runs, to),
        },
        Block::Bullets { items } => {
            let items = items.into_iter().map(|item| map_links(item, to));
            Block::Bullets {
                items: items.collect(),
            }
        }
        Block::Table(mut table) => {
            for cell in table.rows.iter_mut().flatten() {
                if let Cell::Text { runs } = cell {
                    *runs = map_links(std::mem::take(runs), to);
                }
            }
            Block::Table(table)
        }
        Block::Steps { mut steps } => {
            for step in &mut steps {
                if has_links(&step.content) {
                    let content = Arc::make_mut(&mut step.content);
                    content.text = map_links(std::mem::take(&mut content.text), to);
                    for note in &mut content.notes {
                        *note = map_links(std::mem::take(note), to);
                    }
                }
            }
            Block::Steps { steps }
        }
        other => other,
    }
}

fn has_links(content: &SheetStepContent) -> bool {
    let mut has_any = false;
    visit_content(content, &mut |_| has_any = true, &mut |_| {});
    has_any
}

/// Runs with every link led to another target, or made text where it has none.
fn map_links(runs: Vec<TextRun>, to: &dyn Fn(&LinkTarget) -> Option<LinkTarget>) -> Vec<TextRun> {
    let mut mapped = Vec::with_capacity(runs.len());
    for run in runs {
        match run {
            TextRun::Link { target, runs, name } => {
                let runs = map_links(runs, to);
                if let Some(target) = to(&target) {
                    mapped.push(TextRun::Link { target, runs, name });
                } else {
                    mapped.extend(runs);
                    mapped.extend(name.map(|name| TextRun::text(format!(" ({name})"))));
                }
            }
            TextRun::Strong { runs } => mapped.push(TextRun::Strong {
                runs: map_links(runs, to),
            }),
            TextRun::Emphasis { runs } => mapped.push(TextRun::Emphasis {
                runs: map_links(runs, to),
            }),
            other => mapped.push(other),
        }
    }
    mapped
}
