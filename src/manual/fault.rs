//! Fault tables, by machine.

use super::book::{Chapter, Piece};
use super::{Book, Causes, Gone, Uses, chapter, fault_anchor, heading, note_uses, row_anchor};
use crate::dry_run;
use crate::job::Step;
use crate::page::{Block, Cell, LeafKind};
use std::collections::BTreeMap;

impl<'b, 'a> Book<'b, 'a> {
    /// The fault tables, and where each cause stands.
    pub(super) fn faults(&self, uses: &mut Uses) -> (Vec<Chapter>, Causes) {
        let part = self.word("fault-finding");
        let mut causes = Causes::new();
        let mut chapters = Vec::new();
        for machine in &self.content.machines {
            let own = self.content.faults.iter();
            let own = own.filter(|(fault, _)| fault.machine.id == machine.id);
            let mut own: Vec<Gone<'b, 'a>> = own.copied().collect();
            own.sort_by_key(|(fault, _)| (&fault.procedure.title.value, &fault.procedure.id));
            for (at, fault) in own.into_iter().enumerate() {
                let mut pieces = Vec::new();
                if chapters.is_empty() {
                    pieces.push(heading(1, part.clone(), "faults"));
                }
                if at == 0 {
                    let anchor = format!("faults:{}", machine.id);
                    pieces.push(heading(2, machine.name.value.clone(), anchor));
                }
                pieces.extend(self.fault(fault, &mut causes, uses));
                let inner = format!("{part} · {}", fault.0.procedure.title.value);
                chapters.push(chapter(machine.name.value.clone(), inner, pieces));
            }
        }
        (chapters, causes)
    }

    fn fault(&self, gone: Gone<'b, 'a>, causes: &mut Causes, uses: &mut Uses) -> Vec<Piece> {
        let (fault, _) = gone;
        let procedure = fault.procedure;
        let states = dry_run::states(fault);
        let writer = self.writer(LeafKind::FaultTable, gone, &states);
        let (prefix, none) = (fault_anchor(fault), BTreeMap::new());
        let way = self.way(&prefix, &none);
        let piece = |blocks: Vec<Block>| Piece::Blocks {
            level: 4,
            marked: false,
            blocks: way.blocks(blocks),
        };

        let mut pieces = vec![heading(3, procedure.title.value.clone(), prefix.clone())];
        let complaint = procedure.why.iter().filter_map(|block| writer.text(block));
        pieces.push(piece(complaint.collect()));
        pieces.extend(writer.protection().map(|block| piece(vec![block])));
        pieces.extend(super::met(&[fault]));
        pieces.extend(self.needs_of_fault(&writer));
        pieces.extend(writer.before_running().map(|block| piece(vec![block])));
        for (at, section) in fault.sections.iter().enumerate() {
            let table = writer.causes(at, section);
            if let Block::Section(table) = &table {
                let section_anchor = way.anchor(&table.anchor);
                for (row, number) in cause_rows(super::rows(&table.blocks)) {
                    let anchor = row_anchor(&section_anchor, row);
                    let step: Option<&Step<'_>> =
                        section.steps().find(|step| step.number == number);
                    if let Some(step) = step {
                        note_uses(uses, fault, step, &anchor);
                    }
                    let key = (fault.machine.id.clone(), procedure.id.clone(), number);
                    causes.insert(key, anchor);
                }
            }
            pieces.push(piece(vec![table]));
        }
        pieces
    }
}

/// The rows that begin a cause, with its number: their names begin with it.
fn cause_rows(rows: &[Vec<Cell>]) -> Vec<(usize, u32)> {
    let begun = rows.iter().enumerate().filter_map(|(at, row)| {
        let Some(Cell::Name { text }) = row.first() else {
            return None;
        };
        Some((at, text.split_once(". ")?.0.parse().ok()?))
    });
    begun.collect()
}
