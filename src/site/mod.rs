//! The pages that lead to the sheets: the front page, a page for each machine, a page
//! for each procedure, the lists of the shop's things; and what the search finds.
//!
//! **In**: the shop, summaries of jobs, documents of jobs. **Out**: pages as plain
//! data, made of the same blocks as sheets, with typed links. They are for a screen.

mod context;
mod front;
mod lists;
mod machine;
mod page;
mod procedure;
mod search;
mod used_in;

pub(crate) use context::{FaultOf, Site, nav_of_sheet};
pub(crate) use front::front;
pub(crate) use lists::{cautions, glossary, supplies, terms, tools};
pub(crate) use machine::machine;
pub(crate) use page::{Link, Nav, PageHead, PageKind, SiteEntry, SitePage, SitePart};
pub(crate) use procedure::procedure;
pub(crate) use search::{SearchIndex, SearchStep, SearchTerm, SearchThing};
