//! The pages of the site, as plain data.

use super::link::Link;
use super::nav::{Nav, NavLink};
use crate::page::{Block, Fact, Figure, LinkTarget, PageId, SectionId, Value};
use serde::Serialize;

/// A page of the site.
#[derive(Clone, Debug, PartialEq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SitePage {
    pub(crate) head: PageHead,
    pub(crate) parts: Vec<SitePart>,
}

/// Everything on a page except its parts.
#[derive(Clone, Debug, PartialEq, Serialize, Hash)]
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
    /// A machine's picture.
    pub(crate) picture: Option<Figure>,
    /// Short facts below the title.
    pub(crate) facts: Vec<Fact>,
    /// The shop's manual, which is a PDF without an HTML page.
    pub(crate) manual: Option<Link>,
    pub(crate) notices: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum PageKind {
    Front,
    Machine,
    Procedure,
    List,
    Rules,
}

#[derive(Clone, Debug, PartialEq, Serialize, Hash)]
#[serde(tag = "part", rename_all = "kebab-case")]
pub(crate) enum SitePart {
    /// Blocks as on a sheet.
    Blocks { blocks: Vec<Block> },
    /// Links under a heading.
    Links {
        /// Unique on the page.
        id: SectionId,
        title: String,
        style: LinkStyle,
        entries: Vec<SiteEntry>,
    },
    /// A machine's most needed values.
    Values {
        id: SectionId,
        title: String,
        values: Vec<SiteValue>,
    },
    /// The place where a script lists the jobs that were begun in this browser.
    OpenJobs,
}

/// The layout of links.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum LinkStyle {
    /// One below the other, with all that is said beside each.
    Rows,
    /// Short texts in a row.
    Chips,
    /// With pictures.
    Cards,
    /// In columns.
    Tiles,
}

/// A value, with a link to more about it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SiteValue {
    pub(crate) label: String,
    pub(crate) value: Value,
    pub(crate) target: LinkTarget,
}

/// A link with facts and sheets beside it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct SiteEntry {
    pub(crate) link: Link,
    /// Short facts beside it.
    pub(crate) about: Vec<String>,
    /// The sheets of the job that the link is for.
    pub(crate) sheets: Vec<NavLink>,
    pub(crate) picture: Option<Figure>,
}

impl SiteEntry {
    /// A link alone.
    pub(crate) fn bare(link: Link) -> SiteEntry {
        SiteEntry {
            link,
            about: Vec::new(),
            sheets: Vec::new(),
            picture: None,
        }
    }
}

impl SitePage {
    /// Every link of the page that is not in a block.
    pub(crate) fn links(&self) -> impl Iterator<Item = &Link> {
        let parts = self.parts.iter().flat_map(|part| {
            let entries: &[SiteEntry] = match part {
                SitePart::Links { entries, .. } => entries,
                _ => &[],
            };
            let entries = entries.iter();
            entries.flat_map(|entry| {
                let sheets = entry.sheets.iter().map(|sheet| &sheet.link);
                std::iter::once(&entry.link).chain(sheets)
            })
        });
        let head = &self.head;
        let head_links = head.nav.links().chain(&head.manual);
        head_links.chain(parts)
    }
    /// The targets of the values, which are links too.
    pub(crate) fn value_targets(&self) -> impl Iterator<Item = &LinkTarget> {
        let values = self.parts.iter().flat_map(|part| match part {
            SitePart::Values { values, .. } => values.as_slice(),
            _ => &[],
        });
        values.map(|value| &value.target)
    }

    /// The pictures of machines.
    pub(crate) fn pictures(&self) -> impl Iterator<Item = &Figure> {
        let entries = self.parts.iter().flat_map(|part| match part {
            SitePart::Links { entries, .. } => entries.as_slice(),
            _ => &[],
        });
        let pictures = entries.filter_map(|entry| entry.picture.as_ref());
        self.head.picture.iter().chain(pictures)
    }
}
