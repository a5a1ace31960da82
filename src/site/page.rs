//! The pages of the site, as plain data.

use crate::page::{Block, Fact, LinkTarget, PageId, PageLanguage, SectionId};
use serde::Serialize;

/// A page that leads to sheets.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SitePage {
    /// What it says around its parts.
    pub(crate) head: PageHead,
    /// What is on it.
    pub(crate) parts: Vec<SitePart>,
}

/// What a page says around its parts.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct PageHead {
    /// Which page of the output it is.
    pub(crate) page: PageId,
    /// What it is; the page templates lay each out in its own way.
    pub(crate) kind: PageKind,
    /// Its title.
    pub(crate) title: String,
    /// Said small above the title: the machine's or the chapter's name.
    pub(crate) over: Option<String>,
    /// The shop's name.
    pub(crate) shop: String,
    /// The page's language, a BCP 47 tag.
    pub(crate) language: String,
    /// As on every sheet.
    pub(crate) data_note: Option<String>,
    /// What leads to other pages.
    pub(crate) nav: Nav,
    /// Short facts below the title.
    pub(crate) facts: Vec<Fact>,
    /// The shop's manual, a PDF without a page of its own.
    pub(crate) manual: Option<Link>,
    /// Sheets that are about the same, and pages to go on to.
    pub(crate) links: Vec<Link>,
    /// Standing notices.
    pub(crate) notices: Vec<String>,
}

/// What a page of the site is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum PageKind {
    /// The front page.
    Front,
    /// A machine's page.
    Machine,
    /// A procedure's page, with a part for each machine.
    Procedure,
    /// A list of the shop's things.
    List,
}

/// A part of a page.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "part", rename_all = "kebab-case")]
pub(crate) enum SitePart {
    /// Blocks as on a sheet.
    Blocks {
        /// The blocks.
        blocks: Vec<Block>,
    },
    /// Links under a heading.
    Links {
        /// Unique on the page.
        id: SectionId,
        /// The heading.
        title: String,
        /// What is linked.
        entries: Vec<SiteEntry>,
    },
    /// A procedure on one machine; one of several on a page is shown at a time.
    OnMachine {
        /// The machine's id.
        machine: String,
        /// The machine's name.
        name: String,
        /// Short facts.
        facts: Vec<Fact>,
        /// The job's sheets.
        links: Vec<Link>,
        /// What is done, as on the shop sheet.
        blocks: Vec<Block>,
    },
}

/// A page that is linked, with what is said of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SiteEntry {
    /// The page.
    pub(crate) link: Link,
    /// Short facts beside it.
    pub(crate) about: Vec<String>,
    /// Its sheets.
    pub(crate) sheets: Vec<Link>,
}

/// A link to a place of the output.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Link {
    /// What it says.
    pub(crate) title: String,
    /// Where it leads.
    pub(crate) target: LinkTarget,
}

impl Link {
    /// A link to a page.
    pub(crate) fn to_page(title: impl Into<String>, page: PageId) -> Link {
        Link {
            title: title.into(),
            target: LinkTarget::Page(page),
        }
    }
}

/// Where a page or a sheet is among the others.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Nav {
    /// From the front page down to it, without itself.
    pub(crate) crumbs: Vec<Link>,
    /// The page before it, in the manual's order.
    pub(crate) previous: Option<Link>,
    /// The page after it.
    pub(crate) next: Option<Link>,
    /// The other languages that the same page is in.
    pub(crate) translations: Vec<PageLanguage>,
}

impl Nav {
    /// Every link of it.
    pub(crate) fn links(&self) -> impl Iterator<Item = &Link> {
        let neighbours = self.previous.iter().chain(&self.next);
        self.crumbs.iter().chain(neighbours)
    }
}

impl SitePage {
    /// Every link of it outside of its blocks.
    pub(crate) fn links(&self) -> impl Iterator<Item = &Link> {
        let parts = self.parts.iter().flat_map(|part| {
            let (entries, links): (&[SiteEntry], &[Link]) = match part {
                SitePart::Blocks { .. } => (&[], &[]),
                SitePart::Links { entries, .. } => (entries, &[]),
                SitePart::OnMachine { links, .. } => (&[], links),
            };
            let entries = entries.iter();
            let entries =
                entries.flat_map(|entry| std::iter::once(&entry.link).chain(&entry.sheets));
            entries.chain(links)
        });
        let head = &self.head;
        let own = head.nav.links().chain(&head.manual).chain(&head.links);
        own.chain(parts)
    }
}
