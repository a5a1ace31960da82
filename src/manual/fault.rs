//! The chapters of fault tables, by machine.

use super::book::{Chapter, ManualPiece, rows};
use super::writer::{
    Book, Causes, JobAndRehearsal, Uses, caution_uses, chapter, fault_place, heading, job_id,
    record_uses,
};
use crate::page::{Block, Cell, RowSubject};
use crate::sheet::Writer;
use std::collections::BTreeMap;

impl<'b, 'a> Book<'b, 'a> {
    /// The chapters of fault tables, and the link target of each cause.
    pub(super) fn faults(&self, uses: &mut Uses) -> (Vec<Chapter>, Causes) {
        let part = self.word("fault-finding");
        let mut causes = Causes::new();
        let mut chapters = Vec::new();
        for machine in &self.content.machines {
            let tables = self.content.faults.iter();
            let tables = tables.filter(|(fault, _)| fault.machine.id == machine.id);
            let mut tables: Vec<JobAndRehearsal<'b, 'a>> = tables.copied().collect();
            tables.sort_by_key(|(fault, _)| (&fault.procedure.title.value, &fault.procedure.id));
            for (index, fault) in tables.into_iter().enumerate() {
                let mut pieces = Vec::new();
                if chapters.is_empty() {
                    pieces.push(heading(1, part.clone(), []));
                }
                if index == 0 {
                    pieces.push(heading(2, machine.name.value.clone(), []));
                }
                pieces.extend(self.fault(fault, &mut causes, uses));
                let inner = format!("{part} · {}", fault.0.procedure.title.value);
                let name = machine.name.value.clone();
                chapters.push(chapter(part.clone(), name, inner, pieces));
            }
        }
        (chapters, causes)
    }

    fn fault(
        &self,
        (fault, rehearsal): JobAndRehearsal<'b, 'a>,
        causes: &mut Causes,
        uses: &mut Uses,
    ) -> Vec<ManualPiece> {
        let procedure = fault.procedure;
        let writer = Writer::of_fault(fault, rehearsal, self.output);
        let (place, none) = (fault_place(fault), BTreeMap::new());
        let piece = |blocks: Vec<Block>| ManualPiece::Blocks {
            level: 4,
            marked: false,
            about: Some(place.clone()),
            blocks: self.blocks(blocks, &none),
        };

        let mut pieces = vec![heading(3, procedure.title.value.clone(), [place.clone()])];
        let complaint = procedure.why.iter().filter_map(|block| writer.text(block));
        pieces.push(piece(complaint.collect()));
        pieces.extend(writer.protection().map(|block| piece(vec![block])));
        pieces.extend(caution_uses(&[fault]));
        pieces.extend(self.needs_of_fault(&writer));
        pieces.extend(writer.before_running().map(|block| piece(vec![block])));
        for (index, section) in fault.sections.iter().enumerate() {
            let table = writer.causes(index, section);
            if let Block::Section(table) = &table {
                for (row, number) in cause_rows(rows(&table.blocks)) {
                    let place = place.clone().row(table.id.clone(), row);
                    if let Some(step) = section.steps().find(|step| step.number == number) {
                        record_uses(uses, fault, step, &place);
                    }
                    causes.insert((job_id(fault), number), place);
                }
            }
            pieces.push(piece(vec![table]));
        }
        pieces
    }
}

/// The first row of each cause: its row number in the table, from 1, and the number of the cause.
fn cause_rows(rows: &[Vec<Cell>]) -> impl Iterator<Item = (u32, u32)> {
    (1..)
        .zip(rows)
        .filter_map(|(row, cells)| match cells.first() {
            Some(Cell::Name {
                subject: Some(RowSubject::Cause(cause)),
                ..
            }) => Some((row, *cause)),
            _ => None,
        })
}
