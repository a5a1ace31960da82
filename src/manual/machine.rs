//! Machines: data, intervals, what can hurt.

use super::book::{Chapter, Piece};
use super::{Book, Uses, chapter, heading, machine_anchor, row_anchor};
use crate::page::{Block, Cell, Fact, LeafKind};
use crate::sheet::fastener;
use crate::sheet::{Summary, of_machine};
use crate::shop::Machine;
use std::collections::BTreeMap;

impl Book<'_, '_> {
    pub(super) fn machines(&self, uses: &mut Uses) -> Vec<Chapter> {
        let part = self.word("machines");
        let mut chapters = Vec::new();
        for machine in &self.content.machines {
            let mut pieces = Vec::new();
            if chapters.is_empty() {
                pieces.push(heading(1, part.clone(), "machines"));
            }
            pieces.extend(self.machine(machine, uses));
            chapters.push(chapter(machine.name.value.clone(), part.clone(), pieces));
        }
        chapters
    }

    fn machine(&self, machine: &Machine, uses: &mut Uses) -> Vec<Piece> {
        let (prefix, none) = (machine_anchor(machine), BTreeMap::new());
        let way = self.way(&prefix, &none);
        let jobs = self.jobs_of(machine);
        let summaries: Vec<Summary<'_>> = jobs.iter().copied().map(Summary::of).collect();
        let summaries: Vec<&Summary<'_>> = summaries.iter().collect();
        let engine = machine.engine.as_ref();
        let engine = engine.and_then(|engine| engine.kind.clone());
        let facts = [("engine", engine), ("basis", machine.basis.clone())];
        let facts = facts.into_iter().filter_map(|(key, text)| {
            Some(Fact {
                label: self.word(key),
                text: text?,
            })
        });
        let mut pieces = vec![
            heading(2, machine.name.value.clone(), prefix.clone()),
            Piece::Facts {
                facts: facts.collect(),
            },
        ];
        for kind in [LeafKind::MachineData, LeafKind::IntervalChart] {
            let leaf = of_machine(kind, self.shop, machine, &summaries, self.setting);
            let blocks = leaf.into_iter().flat_map(|leaf| leaf.blocks);
            let blocks = blocks.filter(|block| !matches!(block, Block::Notices { .. }));
            let blocks = way.blocks(blocks.collect());
            note_parts(uses, machine, &blocks);
            pieces.push(Piece::Blocks {
                level: 3,
                marked: true,
                blocks,
            });
        }
        if let Some(met) = super::met(&jobs) {
            let title = self.word("kind-caution-leaf");
            pieces.push(Piece::Heading {
                level: 3,
                listed: false,
                title,
                anchors: vec![way.anchor("messages")],
            });
            pieces.push(met);
        }
        pieces
    }
}

/// Notes the rows that are named for a part.
fn note_parts(uses: &mut Uses, machine: &Machine, blocks: &[Block]) {
    let sections = blocks.iter().filter_map(|block| match block {
        Block::Section(section) => Some(section),
        _ => None,
    });
    for section in sections {
        for (at, row) in super::rows(&section.blocks).iter().enumerate() {
            let Some(Cell::Name { text }) = row.first() else {
                continue;
            };
            for part in machine.parts.values() {
                let fastened = fastener(part);
                // "manifold nut, 2 × M6, stage 1 of 2" is the nut's, too.
                let stages = text.strip_prefix(&fastened);
                let is_stage = stages.is_some_and(|rest| rest.starts_with(", "));
                if *text == part.name || *text == fastened || is_stage {
                    let key = (machine.id.clone(), part.key.clone());
                    let anchor = row_anchor(&section.anchor, at);
                    uses.entry(key).or_default().insert(anchor);
                }
            }
        }
    }
}
