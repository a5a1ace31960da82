//! Jobs become [`Sheet`]s: what is on the page, for any medium.
//!
//! **In**: jobs and their rehearsals, or a machine with its jobs. **Out**:
//! sheets, plain data that serialises, with every value printed, every number
//! and every blank in place. What pages say of a job is written once, as a
//! [`JobDocument`]; the shop sheet, the checklist, the procedure's page and the
//! manual are views of it. Nothing here says how anything looks or where it is.

mod details;
mod document;
mod fault;
mod front;
mod instruction;
mod kit;
mod machine;
mod safety;
mod search;
mod section;
mod sign;
mod state;
mod steps;
mod summary;
mod uses;
mod view;
mod writer;

use crate::job::Job;
use crate::page::{OutputContext, PageId, Sheet, SheetKind};
use crate::rehearsal::Rehearsal;
pub(crate) use details::sparks_a_turn;
pub(crate) use document::JobDocument;
pub(crate) use kit::{Amount, Kit, ToolLine};
pub(crate) use kit::{kit_of, kit_page};
pub(crate) use machine::MachineWriter;
pub(crate) use machine::of_machine;
pub(crate) use safety::cautions;
pub(crate) use search::{SearchKind, SearchPiece};
pub(crate) use summary::Summary;
pub(crate) use uses::{Use, uses, where_used};
pub(crate) use view::{View, block_to_read, blocks_of_book};
pub(crate) use writer::Writer;

/// The sheet of a fault table on a machine.
#[must_use]
pub(crate) fn of_fault(job: &Job<'_>, rehearsal: &Rehearsal<'_>, output: &OutputContext) -> Sheet {
    let writer = Writer::of_fault(job, rehearsal, output);
    let kind = SheetKind::FaultTable;
    let page = PageId::JobSheet(kind, writer.job_id());
    writer
        .desk
        .sheet(page, kind, writer.naming(), writer.fault_table())
}

/// The sheet of a job, of one of [`SheetKind::OF_JOB`], or of a fault table; none of another kind.
#[cfg(test)]
pub(crate) fn make(
    kind: SheetKind,
    job: &Job<'_>,
    rehearsal: &Rehearsal<'_>,
    output: &OutputContext,
) -> Option<Sheet> {
    match kind {
        SheetKind::FaultTable => Some(of_fault(job, rehearsal, output)),
        _ => JobDocument::new(job, rehearsal, output).sheet(kind),
    }
}
