//! The list of figures.

use super::book::{Chapter, IndexEntry, IndexLine, ManualPiece};
use crate::page::{Block, LinkTarget, SheetStep};
use std::collections::BTreeMap;

/// The figures beside the steps of some chapters, each with the steps that show it.
pub(super) fn figures(chapters: &[Chapter]) -> Vec<IndexEntry> {
    let mut entries: BTreeMap<String, Vec<IndexLine>> = BTreeMap::new();
    for chapter in chapters {
        let blocks = chapter.pieces.iter().filter_map(|piece| match piece {
            ManualPiece::Blocks {
                about: Some(LinkTarget::Job(job)),
                blocks,
                ..
            } => Some((job, blocks)),
            _ => None,
        });
        for (job, blocks) in blocks {
            for step in steps_in(blocks) {
                // What a step touches is no figure of its own.
                let figures = step.content.figures.iter().filter(|figure| {
                    let marked = figure.marked.as_ref();
                    marked.is_none_or(|marked| marked.is_whole)
                });
                for figure in figures {
                    let name = figure.caption.as_ref().unwrap_or(&figure.alt);
                    entries.entry(name.clone()).or_default().push(IndexLine {
                        of: Some(format!("{} · {}", chapter.inner, chapter.outer)),
                        number: None,
                        to: vec![LinkTarget::Step {
                            job: job.clone(),
                            step: step.number,
                        }],
                        main: Vec::new(),
                    });
                }
            }
        }
    }
    let entries = entries.into_iter();
    entries
        .map(|(name, lines)| IndexEntry { name, lines })
        .collect()
}

/// The steps in some blocks.
fn steps_in(blocks: &[Block]) -> Vec<&SheetStep> {
    let steps = blocks.iter().flat_map(|block| match block {
        Block::Section(section) => steps_in(&section.blocks),
        Block::Steps { steps } => steps.iter().collect(),
        _ => Vec::new(),
    });
    steps.collect()
}
