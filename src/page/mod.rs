//! What can stand on a leaf, for any medium.
//!
//! These types are the whole contract between what a leaf says and how it
//! looks. The typesetter reads a leaf as it stands, as JSON; the page templates
//! read the same head, and the same blocks one by one. A new kind of leaf
//! composes the blocks that are here; a new block is one variant here and one
//! branch in each medium.
//!
//! Every text in them is plain text of a shop's own files. A renderer escapes
//! it; nothing here is markup.

mod block;
mod desk;
mod edition;
mod leaf;
mod paths;
mod safety;
mod setting;
mod step;
mod table;
pub(crate) mod text;
mod text_run;

pub use block::{Block, Figure, Section, SignLine, Stop};
pub(crate) use desk::{Desk, Naming, mark, notices, paper};
pub use edition::Edition;
pub use leaf::{Fact, Head, Leaf, LeafKind, Paper, Translation};
pub use paths::{LISTS, machine_page_path, machine_path, on_machine, path, procedure_path};
pub use safety::{SafetyMessage, Sign, SignalWord};
pub use setting::Setting;
pub use step::{Blank, Detail, Step};
pub use table::{Cell, Column, Table};
pub use text_run::{Run, Target, Value};
