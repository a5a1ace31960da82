//! The pages around the sheets, for a screen: the front page, a page for each machine and for each
//! procedure, the lists of the shop's records, and the search index.
//!
//! **In**: the shop, summaries of jobs, documents of jobs. **Out**: pages as plain data, made of
//! the same blocks as sheets, with typed links, and the index as plain data. This stage never
//! decides paths, markup or the format of the index file.

mod context;
mod front;
mod link;
mod lists;
mod machine;
mod nav;
mod page;
mod procedure;
mod search;
mod used_in;

pub(crate) use context::{MachineFaultTable, Site};
pub(crate) use front::front;
pub(crate) use link::Link;
pub(crate) use lists::{cautions, glossary, part_numbers, supplies, terms, tools};
pub(crate) use machine::machine;
#[cfg(test)]
pub(crate) use nav::{Here, NavGroup, NavLink};
pub(crate) use nav::{Nav, nav_of_sheet};
pub(crate) use page::{PageHead, PageKind, SiteEntry, SitePage, SitePart};
pub(crate) use procedure::{ManualOrder, nav_of_job_sheet, procedure};
#[cfg(test)]
pub(crate) use search::SearchWord;
pub(crate) use search::{SearchIndex, SearchStep, SearchTerm, SearchThing, SearchValue};
