//! The bound manual: all that a shop knows of some machines, in one book.
//!
//! A job's sheet has every step of it, those of the procedures that begin and
//! finish it, too; a book would print making safe fifty times. So each
//! procedure's own steps are in it once for each machine, with the numbers they have on
//! the job's sheet, and a line in the place of others' steps says where those
//! are. Values, messages and steps are those of the jobs' documents.
//!
//! **In**: machines, jobs and fault tables with their rehearsals. **Out**: the
//! manual as plain data, with typed links to its own places; page numbers are
//! the typesetter's.

mod back;
mod book;
mod fault;
mod front;
mod job;
mod machine;
mod needs;
mod writer;

pub(crate) use book::Manual;
#[cfg(test)]
pub(crate) use book::{Chapter, IndexLine, ManualHead, ManualPiece};
pub(crate) use writer::{JobAndRehearsal, ManualContent, manual};
