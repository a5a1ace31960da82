//! The pages of the site, as plain data.

use super::link::Link;
use super::nav::Nav;
use crate::page::{Block, Fact, PageId, SectionId};
use serde::Serialize;

/// A page of the site.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SitePage {
    pub(crate) head: PageHead,
    pub(crate) parts: Vec<SitePart>,
}

/// Everything on a page except its parts.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct PageHead {
    pub(crate) page: PageId,
    /// Selects the layout in the templates.
    pub(crate) kind: PageKind,
    pub(crate) title: String,
    /// Printed small above the title: "Machine", or the title of the procedure's system.
    pub(crate) over: Option<String>,
    pub(crate) shop: String,
    /// A BCP 47 tag.
    pub(crate) language: String,
    /// A notice about the data that every page must carry.
    pub(crate) data_note: Option<String>,
    pub(crate) nav: Nav,
    /// Short facts below the title.
    pub(crate) facts: Vec<Fact>,
    /// The shop's manual, which is a PDF without an HTML page.
    pub(crate) manual: Option<Link>,
    /// Related sheets and pages.
    pub(crate) links: Vec<Link>,
    pub(crate) notices: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum PageKind {
    Front,
    Machine,
    Procedure,
    List,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "part", rename_all = "kebab-case")]
pub(crate) enum SitePart {
    /// Blocks as on a sheet.
    Blocks { blocks: Vec<Block> },
    /// Links under a heading.
    Links {
        /// Unique on the page.
        id: SectionId,
        title: String,
        entries: Vec<SiteEntry>,
    },
}

/// A link with facts and sheets beside it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SiteEntry {
    pub(crate) link: Link,
    /// Short facts beside it.
    pub(crate) about: Vec<String>,
    /// The sheets of the job that the link is for.
    pub(crate) sheets: Vec<Link>,
}

impl SitePage {
    /// Every link of the page that is not in a block.
    pub(crate) fn links(&self) -> impl Iterator<Item = &Link> {
        let parts = self.parts.iter().flat_map(|part| {
            let entries: &[SiteEntry] = match part {
                SitePart::Blocks { .. } => &[],
                SitePart::Links { entries, .. } => entries,
            };
            let entries = entries.iter();
            entries.flat_map(|entry| std::iter::once(&entry.link).chain(&entry.sheets))
        });
        let head = &self.head;
        let head_links = head.nav.links().chain(&head.manual).chain(&head.links);
        head_links.chain(parts)
    }
}
