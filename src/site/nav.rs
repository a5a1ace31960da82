//! The navigation of pages: the bar that stays visible, and the side column.

use super::link::Link;
use super::rule_family::family_title;
use crate::finding::Family;
use crate::page::{JobId, LinkTarget, ListKind, OutputContext, PageId, PageLanguage, SheetKind};
use serde::Serialize;

/// The navigation of a page or a sheet.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Nav {
    /// The front page. `None` on a page that stands alone.
    pub(crate) home: Option<Link>,
    /// The job and the machine that the page is about, for the bar that stays visible.
    pub(crate) here: Option<Here>,
    /// The groups of links in the side column.
    pub(crate) groups: Vec<NavGroup>,
    /// The same sheet of the same procedure on other machines, with the page's own machine. Empty if it
    /// is for one machine.
    pub(crate) machines: Vec<NavLink>,
    /// The previous page: machines by name, a machine's shop sheets by system and title.
    pub(crate) previous: Option<Link>,
    /// As `previous`.
    pub(crate) next: Option<Link>,
    /// The other languages of the same page.
    pub(crate) translations: Vec<PageLanguage>,
}

/// What a page is about. A link that the run does not make is plain text.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct Here {
    /// The job, the fault table or the sheet.
    pub(crate) title: Link,
    pub(crate) machine: Link,
}

/// Links under a heading in the side column.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct NavGroup {
    pub(crate) title: Option<String>,
    pub(crate) links: Vec<NavLink>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
#[serde(rename_all = "kebab-case")]
pub(crate) struct NavLink {
    #[serde(flatten)]
    pub(crate) link: Link,
    /// The name of its icon.
    pub(crate) icon: Option<&'static str>,
    /// Whether it leads to the page that it is on.
    pub(crate) is_current: bool,
}

impl Nav {
    /// Every link except to translations.
    pub(crate) fn links(&self) -> impl Iterator<Item = &Link> {
        let here = self.here.iter();
        let here = here.flat_map(|here| [&here.title, &here.machine]);
        let groups = self.groups.iter().flat_map(|group| &group.links);
        let nav_links = groups.chain(&self.machines);
        self.home
            .iter()
            .chain(here)
            .chain(nav_links.map(|nav_link| &nav_link.link))
            .chain(&self.previous)
            .chain(&self.next)
    }
}

/// Builds the navigation of one page.
pub(super) struct NavWriter<'w> {
    pub(super) output: &'w OutputContext,
    /// The page.
    pub(super) page: &'w PageId,
}

impl NavWriter<'_> {
    /// The front page and the other languages, without a bar and groups.
    pub(super) fn nav(&self) -> Nav {
        Nav {
            home: Some(Link::to_page(self.word("index"), PageId::Front)),
            translations: translations(self.output),
            ..Nav::default()
        }
    }

    fn word(&self, key: &'static str) -> &str {
        self.output.edition.words.get(key)
    }

    /// A link with its icon, if the run makes the page.
    pub(super) fn link(&self, title: &str, page: PageId) -> Option<NavLink> {
        let is_made = self.output.includes(&page);
        is_made.then(|| NavLink {
            icon: Some(icon(&page)),
            is_current: page == *self.page,
            link: Link::to_page(title, page),
        })
    }

    /// A group of the links to pages that the run makes. `None` without any.
    pub(super) fn group(
        title: Option<&str>,
        links: impl Iterator<Item = NavLink>,
    ) -> Option<NavGroup> {
        let group = NavGroup {
            title: title.map(str::to_owned),
            links: links.collect(),
        };
        (!group.links.is_empty()).then_some(group)
    }

    pub(super) fn front(&self) -> Option<NavGroup> {
        let front = self.link(self.word("index"), PageId::Front);
        NavWriter::group(None, front.into_iter())
    }

    /// The sheets of a job.
    pub(super) fn job(&self, job: &JobId) -> Option<NavGroup> {
        let sheets = SheetKind::OF_JOB.into_iter();
        let sheets = sheets.filter_map(|kind| {
            self.link(
                self.word(kind.title_key()),
                PageId::JobSheet(kind, job.clone()),
            )
        });
        NavWriter::group(Some(self.word("this-job")), sheets)
    }

    /// A machine's page and its sheets.
    pub(super) fn machine(&self, id: &str, name: &str) -> Option<NavGroup> {
        let overview = self.link(self.word("overview"), PageId::Machine(id.to_owned()));
        let sheets = SheetKind::OF_MACHINE.into_iter().filter_map(|kind| {
            self.link(
                self.word(kind.title_key()),
                PageId::MachineSheet(kind, id.to_owned()),
            )
        });
        let parts = self.word("parts-and-readings");
        let parts = self.link(parts, PageId::MachineParts(id.to_owned()));
        let links = overview.into_iter().chain(sheets).chain(parts);
        NavWriter::group(Some(name), links)
    }

    /// The lists of the shop.
    pub(super) fn lists(&self) -> Option<NavGroup> {
        let lists = ListKind::ALL
            .into_iter()
            .filter_map(|list| self.link(self.word(list.title_key()), PageId::List(list)));
        let where_used = self.link(
            self.word(SheetKind::WhereUsed.title_key()),
            PageId::WhereUsed,
        );
        let rules = self.link(self.word("rules-title"), PageId::Rules);
        let links = lists.chain(where_used).chain(rules);
        NavWriter::group(Some(self.word("lists")), links)
    }

    /// The families of rules.
    pub(super) fn rules(&self) -> Option<NavGroup> {
        let words = &self.output.edition.words;
        let families = Family::ALL.into_iter();
        let families = families.filter_map(|family| {
            self.link(family_title(family, words), PageId::RuleFamily(family))
        });
        NavWriter::group(Some(self.word("rules-title")), families)
    }
}

/// The icon of a page: the name of a file in `templates/icons`.
fn icon(page: &PageId) -> &'static str {
    match page {
        PageId::Front => "front",
        PageId::Machine(_) => "machines",
        PageId::MachineParts(_) => "parts",
        PageId::MachineSystem { .. } | PageId::System(_) => "chapters",
        PageId::Procedure(_) => "shop-sheet",
        PageId::List(ListKind::Cautions) => "caution-sheet",
        PageId::List(ListKind::Symptoms) => "fault-table",
        PageId::List(list) => list.name(),
        PageId::JobSheet(kind, _) | PageId::MachineSheet(kind, _) => kind.name(),
        PageId::WhereUsed => "where-used",
        PageId::Rules | PageId::RuleFamily(_) => "rules",
        PageId::Kit(_) => "kit-list",
        PageId::Manual { .. } => "manual",
    }
}

/// The languages of the run, without the language of this page.
fn translations(output: &OutputContext) -> Vec<PageLanguage> {
    let languages = output.languages.iter();
    let languages = languages.filter(|language| language.tag != output.edition.language);
    languages.cloned().collect()
}

/// The navigation of a sheet. `title` is the title in the bar. A machine is given by its id and its
/// name.
#[must_use]
pub(crate) fn nav_of_sheet(
    output: &OutputContext,
    page: &PageId,
    title: &str,
    machine: Option<(&str, &str)>,
) -> Nav {
    let writer = NavWriter { output, page };
    let of_job = page.job().and_then(|job| writer.job(job));
    let of_machine = machine.and_then(|(id, name)| writer.machine(id, name));
    // A job's sheet has many sections, which would be far down the column below the lists.
    let lists = match page.job() {
        Some(_) => None,
        None => writer.lists(),
    };
    let groups = [writer.front(), of_job, of_machine, lists];
    Nav {
        here: machine.map(|(id, name)| Here {
            title: Link {
                title: title.to_owned(),
                target: match page.job() {
                    Some(job) => LinkTarget::Page(PageId::shop_sheet(job.clone())),
                    None => LinkTarget::Page(page.clone()),
                },
            },
            machine: Link::to_page(name, PageId::Machine(id.to_owned())),
        }),
        groups: groups.into_iter().flatten().collect(),
        ..writer.nav()
    }
}
