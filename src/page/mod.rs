//! The content of a page as plain data, for any medium.
//!
//! These types are the whole interface between the stages that decide what a page says and the
//! renderers that decide how it looks. Links have typed targets ([`LinkTarget`]); paths, addresses,
//! anchors and page numbers belong to the renderers and never appear here. The PDF renderer reads a
//! whole sheet as JSON; the HTML templates read the head and one block at a time. A new kind of
//! sheet composes existing blocks; a new block is one variant here and one branch in each renderer.
//!
//! **In**: nothing; other stages fill these types. [`PageContext`] helps them with blocks that many
//! pages have. **Out**: data that serializes. Every text is plain text, mostly from a shop's own
//! files; none of it is markup, and a renderer must escape it.

mod block;
mod context;
mod drawing;
mod edition;
mod figure;
mod id;
mod link;
mod marked;
mod output;
mod safety;
mod section;
mod sheet;
mod step;
mod table;
mod target;
pub(crate) mod text;
mod text_run;

pub(crate) use block::{Block, Listing, SetUpLine, SheetSection, SignLine, Stop};
pub(crate) use context::{HeadText, PageContext, lowered_checks, mark, notices, paper};
pub(crate) use drawing::{Drawing, DrawingKind, TitledDrawing};
pub(crate) use edition::Edition;
pub(crate) use edition::author_words;
pub(crate) use figure::{Figure, FigureSize};
pub(crate) use id::{JobId, ListKind, PageId, SheetKind};
pub(crate) use link::{map_links, map_links_of_blocks, visit_block, visit_content};
pub(crate) use link::{visit_figures, visit_links};
pub(crate) use marked::{Marked, MarkedPart, ShapeGroup};
pub(crate) use output::{OutputContext, PageLanguage};
pub(crate) use safety::{SafetyMessage, Sign, SignalWord, StepMessage};
pub(crate) use section::{SectionId, Topic};
pub(crate) use sheet::{Fact, HeadEntry, Paper, SerialSpan, Sheet, SheetHead};
pub(crate) use step::{
    Blank, Detail, OnlyIf, ReadingBounds, SheetStep, SheetStepContent, StepKey, WearColumns,
    WearRow, WearTable,
};
pub(crate) use table::{Cell, Column, RowSubject, Table};
pub(crate) use target::{FigureId, LinkTarget};
pub(crate) use text::is_sentence;
pub(crate) use text_run::plain;
pub(crate) use text_run::{BareValue, TextRun, Value};
