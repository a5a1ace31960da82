//! The pages around the sheets, for a screen: the front page, a page for each machine and for each
//! procedure, the lists of the shop's records, and the search index.
//!
//! **In**: the shop, summaries of jobs, documents of jobs. **Out**: pages as plain data, made of
//! the same blocks as sheets, with typed links, and the index as plain data. This stage never
//! decides paths, markup or the format of the index file.

mod context;
mod entries;
mod front;
mod link;
mod lists;
mod machine;
mod nav;
mod order;
mod page;
mod procedure;
mod rule_family;
mod rule_text;
mod rules;
mod search;
mod used_in;

pub(crate) use context::{MachineFaultTable, Site};
pub(crate) use front::{front, systems_pages};
pub(crate) use link::Link;
pub(crate) use lists::{
    cautions, glossary, machines, part_numbers, supplies, symptoms, terms, tools,
};
pub(crate) use machine::{MAX_JOBS_LISTED, machine, machine_details};
#[cfg(test)]
pub(crate) use nav::{Here, NavGroup, NavLink};
pub(crate) use nav::{Nav, nav_of_sheet};
pub(crate) use order::ManualOrder;
#[cfg(test)]
pub(crate) use page::SiteValue;
pub(crate) use page::{LinkStyle, PageHead, PageKind, SiteEntry, SitePage, SitePart};
pub(crate) use procedure::{nav_of_job_sheet, procedure};
pub(crate) use rule_family::{about_family, family_title};
pub(crate) use rule_text::{RuleWriter, rules_of};
pub(crate) use rules::rules;
#[cfg(test)]
pub(crate) use search::SearchWord;
pub(crate) use search::{SearchIndex, SearchStep, SearchTerm, SearchThing, SearchValue};
