//! The chapters of machines: data, intervals and safety messages.

use super::book::{Chapter, ManualPiece, rows};
use super::writer::{Book, Uses, caution_uses, chapter, heading};
use crate::page::{Block, Cell, Fact, LinkTarget, RowSubject, SheetKind};
use crate::sheet::{MachineWriter, Summary, machine_facts};
use crate::shop::Machine;
use std::collections::BTreeMap;

impl Book<'_, '_> {
    pub(super) fn machines(&self, uses: &mut Uses) -> Vec<Chapter> {
        let part = self.word("machines");
        let mut chapters = Vec::new();
        for machine in &self.content.machines {
            let mut pieces = Vec::new();
            if chapters.is_empty() {
                pieces.push(heading(1, part.clone(), []));
            }
            pieces.extend(self.machine(machine, uses));
            let name = machine.name.value.clone();
            chapters.push(chapter(part.clone(), name, part.clone(), pieces));
        }
        chapters
    }

    fn machine(&self, machine: &Machine, uses: &mut Uses) -> Vec<ManualPiece> {
        let place = LinkTarget::machine(&machine.id);
        let none = BTreeMap::new();
        let jobs = self.jobs_of(machine);
        let summaries: Vec<Summary<'_>> = jobs.iter().copied().map(Summary::of).collect();
        let summaries: Vec<&Summary<'_>> = summaries.iter().collect();
        let facts = machine_facts(self.context(), machine);
        let facts = facts.into_iter().map(|(key, text)| Fact {
            label: self.word(key),
            text,
        });
        let mut pieces = vec![
            heading(2, machine.name.value.clone(), [place.clone()]),
            ManualPiece::Facts {
                facts: facts.collect(),
            },
        ];
        let writer = MachineWriter {
            context: self.context(),
            machine,
            jobs: &summaries,
        };
        for kind in [
            SheetKind::MachineData,
            SheetKind::PartsList,
            SheetKind::IntervalChart,
        ] {
            let blocks = self.blocks(writer.blocks(kind), &none);
            record_parts(uses, machine, &blocks);
            pieces.push(ManualPiece::Blocks {
                level: 3,
                marked: true,
                about: Some(place.clone()),
                blocks,
            });
        }
        if let Some(caution_uses) = caution_uses(&jobs) {
            let title = self.word("kind-caution-sheet");
            pieces.push(ManualPiece::Heading {
                level: 3,
                listed: false,
                title,
                places: Vec::new(),
            });
            pieces.push(caution_uses);
        }
        pieces
    }
}

/// Records the table rows about parts, for the index.
fn record_parts(uses: &mut Uses, machine: &Machine, blocks: &[Block]) {
    let sections = blocks.iter().filter_map(|block| match block {
        Block::Section(section) => Some(section),
        _ => None,
    });
    for section in sections {
        for (number, row) in (1..).zip(rows(&section.blocks)) {
            if let Some(Cell::Name {
                subject: Some(RowSubject::Part(part)),
                ..
            }) = row.first()
            {
                let place = LinkTarget::machine(&machine.id).row(section.id.clone(), number);
                let key = (machine.id.clone(), part.clone());
                uses.entry(key).or_default().insert(place);
            }
        }
    }
}
