//! Composes sheets: the content of the pages that a shop prints, for any medium.
//!
//! **In**: jobs and their rehearsals, or a machine with its jobs. **Out**: [`Sheet`]s, plain data
//! that serializes, with every value, number and blank already printed as text. The content of a
//! job is composed once, as a [`JobDocument`]; the shop sheet, the checklist and the manual are
//! views of it. This stage never decides how anything looks or where it is in the output.

mod access;
mod circuit;
mod connections;
mod details;
mod differences;
mod document;
mod drawings;
mod due;
mod fault;
mod figures;
mod front;
mod guards;
mod guards_section;
mod inspection;
mod instruction;
mod joint;
mod kit;
mod kit_item;
mod line;
mod machine;
mod mix;
mod outcome;
mod pair;
mod parts_list;
mod pattern;
mod safety;
mod search;
mod section;
mod serials;
mod set_up;
mod setting;
mod sign;
mod start;
mod state;
mod steps;
mod summary;
mod uses;
mod view;
mod wear;
mod wires;
mod writer;

use crate::job::Job;
use crate::page::{OutputContext, PageId, Sheet, SheetKind};
use crate::rehearsal::Rehearsal;
pub(crate) use details::sparks_a_turn;
pub(crate) use document::JobDocument;
pub(crate) use guards::{Actions, ConditionGuard, EnergyGuard, FluidGuard, Guards};
pub(crate) use kit::{kit_of, kit_page};
pub(crate) use machine::MachineWriter;
pub(crate) use machine::{machine_facts, machine_sheet};
pub(crate) use safety::cautions;
pub(crate) use search::{SearchKind, SearchPiece};
pub(crate) use set_up::SetUpKind;
pub(crate) use setting::setting_text;
pub(crate) use summary::Summary;
pub(crate) use uses::{Use, uses, where_used};
pub(crate) use view::{Given, View, book_blocks, screen_block};
pub(crate) use writer::Writer;

#[must_use]
pub(crate) fn fault_sheet(
    job: &Job<'_>,
    rehearsal: &Rehearsal<'_>,
    output: &OutputContext,
) -> Sheet {
    let writer = Writer::of_fault(job, rehearsal, output);
    let kind = SheetKind::FaultTable;
    let page = PageId::JobSheet(kind, writer.job_id());
    writer
        .context
        .sheet(page, kind, writer.head_text(), writer.fault_table())
}

/// The sheet of a job, one of [`SheetKind::OF_JOB`], or of a fault table. `None` for another kind.
#[cfg(test)]
pub(crate) fn sheet_of_kind(
    kind: SheetKind,
    job: &Job<'_>,
    rehearsal: &Rehearsal<'_>,
    output: &OutputContext,
) -> Option<Sheet> {
    match kind {
        SheetKind::FaultTable => Some(fault_sheet(job, rehearsal, output)),
        _ => JobDocument::new(job, rehearsal, output).sheet(kind),
    }
}
