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

pub use context::{FaultOf, Site, nav_of_sheet};
pub use front::front;
pub use lists::{cautions, glossary, supplies, terms, tools};
pub use machine::machine;
pub use page::{Link, Nav, PageHead, PageKind, SiteEntry, SitePage, SitePart};
pub use procedure::procedure;
pub use search::{SearchIndex, SearchStep, SearchTerm, SearchThing};
