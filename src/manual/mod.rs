//! The bound manual: everything that a shop knows about some machines, in one book.
//!
//! A job's sheet includes the steps of the procedures that begin and finish the job; a book would
//! print how to make a machine safe fifty times. The manual prints each procedure's own steps once
//! for each machine, with the numbers they have on the job's sheet. In place of another procedure's
//! steps it has a line that says where they are. Values, messages and steps come from the jobs'
//! documents.
//!
//! **In**: machines, jobs and fault tables with their rehearsals. **Out**: the manual as plain
//! data, with typed links to targets inside the manual. This stage never decides layout or page
//! numbers; the typesetter does.

mod back;
mod book;
mod divided;
mod fault;
mod figures;
mod front;
mod job;
mod machine;
mod needs;
mod rules;
mod writer;

pub(crate) use book::Manual;
#[cfg(test)]
pub(crate) use book::{Chapter, IndexEntry, IndexLine, ManualHead, ManualPiece};
pub(crate) use writer::{JobAndRehearsal, ManualContent, manual};
