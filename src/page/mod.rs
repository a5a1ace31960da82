//! What can appear on a page, for any medium.
//!
//! These types are the whole contract between what a page says and how it
//! looks. Links have typed targets ([`LinkTarget`]); no path, address, anchor or
//! page number is here, since these are the medium's. The typesetter reads a
//! sheet as JSON; the page templates read the same head, and the same blocks one
//! by one. A new kind of sheet composes the blocks that are here; a new block is
//! one variant here and one branch in each medium.
//!
//! Every text in them is plain text of a shop's own files. A renderer escapes
//! it; nothing here is markup.

mod block;
mod context;
mod edition;
mod figure;
mod id;
mod link;
mod output;
mod safety;
mod section;
mod sheet;
mod step;
mod table;
mod target;
pub(crate) mod text;
mod text_run;

pub(crate) use block::{Block, SheetSection, SignLine, Stop};
pub(crate) use context::{Naming, PageContext, mark, notices, paper};
pub(crate) use edition::Edition;
pub(crate) use edition::author_words;
pub(crate) use figure::Figure;
pub(crate) use id::{JobId, ListKind, PageId, SheetKind};
pub(crate) use link::{figures, links};
pub(crate) use link::{map_links_of_blocks, visit_block, visit_content};
pub(crate) use output::{OutputContext, PageLanguage};
pub(crate) use safety::{SafetyMessage, Sign, SignalWord};
pub(crate) use section::{SectionId, Topic};
pub(crate) use sheet::{Fact, Paper, Sheet, SheetHead};
pub(crate) use step::{Blank, Detail, SheetStep, SheetStepContent};
pub(crate) use table::{Cell, Column, RowSubject, Table};
pub(crate) use target::{FigureId, LinkTarget};
pub(crate) use text_run::plain;
pub(crate) use text_run::{TextRun, Value};
