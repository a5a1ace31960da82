//! What pages of the site are made from.

use super::page::{Link, Nav, PageHead, PageKind, SitePage};
use crate::page::{
    JobId, LinkTarget, OutputContext, PageContext, PageId, PageLanguage, SheetKind, notices,
};
use crate::sheet::Summary;
use crate::shop::Shop;
use crate::words::Words;

/// All that pages of the site are made from.
#[derive(Clone, Copy)]
pub(crate) struct Site<'s, 'a> {
    /// The shop.
    pub(crate) shop: &'a Shop,
    /// The jobs, in order of procedure and then machine.
    pub(crate) jobs: &'s [Summary<'a>],
    /// The fault tables, each with its machine.
    pub(crate) faults: &'s [FaultOf<'a>],
    /// The edition, and what is made in it.
    pub(crate) output: &'s OutputContext,
}

impl std::fmt::Debug for Site<'_, '_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Site").finish_non_exhaustive()
    }
}

/// A fault table on one of its machines.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FaultOf<'a> {
    /// The fault table.
    pub(crate) fault: &'a crate::procedure::Procedure,
    /// The machine.
    pub(crate) machine: &'a crate::shop::Machine,
}

impl<'a> Site<'_, 'a> {
    pub(super) fn context(&self) -> PageContext<'_> {
        PageContext {
            shop: self.shop,
            output: self.output,
        }
    }

    pub(super) fn words(&self) -> &Words {
        &self.output.edition.words
    }

    /// A link to a page, where it is made.
    pub(super) fn link_if_made(&self, title: &str, page: PageId) -> Option<Link> {
        let is_made = self.output.makes(&page);
        is_made.then(|| Link::to_page(title, page))
    }

    /// The sheets of a job.
    pub(super) fn sheets_of(&self, job: &Summary<'_>) -> Vec<Link> {
        let kinds = SheetKind::OF_JOB.into_iter();
        kinds
            .filter_map(|kind| {
                let job = JobId::new(&job.machine.id, &job.procedure.id);
                let title = self.words().get(kind.title_key());
                self.link_if_made(title, PageId::JobSheet(kind, job))
            })
            .collect()
    }

    /// The front page, as the first of a page's crumbs.
    fn home(&self) -> Link {
        Link::to_page(self.words().get("index"), PageId::Front)
    }

    /// An empty page.
    pub(super) fn page(&self, id: PageId, kind: PageKind, title: impl Into<String>) -> SitePage {
        let edition = &self.output.edition;
        let head = PageHead {
            nav: Nav {
                crumbs: match kind {
                    PageKind::Front => Vec::new(),
                    _ => vec![self.home()],
                },
                translations: translations(self.output),
                ..Nav::default()
            },
            page: id,
            kind,
            title: title.into(),
            over: None,
            shop: self.shop.name.clone(),
            language: edition.language.clone(),
            data_note: self.shop.data_note.clone(),
            facts: Vec::new(),
            manual: None,
            links: Vec::new(),
            notices: notices(self.shop, &edition.words),
        };
        SitePage {
            head,
            parts: Vec::new(),
        }
    }

    /// The systems that any job is in, in the shop's order, each with its title and its jobs.
    pub(super) fn systems(&self) -> Vec<(&'a str, String, Vec<&Summary<'a>>)> {
        let mut systems: Vec<(&str, String, Vec<&Summary<'_>>)> = Vec::new();
        for job in self.jobs {
            let id = job.procedure.system.as_str();
            match systems.iter_mut().find(|(known, _, _)| *known == id) {
                Some((_, _, jobs)) => jobs.push(job),
                None => systems.push((id, self.shop.system_title(id), vec![job])),
            }
        }
        let order = |id: &str| {
            let at = self.shop.systems.find(id);
            (
                at.map_or(usize::MAX, crate::record::Id::index),
                id.to_owned(),
            )
        };
        systems.sort_by_key(|(id, _, _)| order(id));
        for (_, _, jobs) in &mut systems {
            jobs.sort_by_key(|job| {
                (
                    job.procedure.title.value.as_str(),
                    job.procedure.id.as_str(),
                )
            });
        }
        systems
    }

    /// The procedures in the manual's order, each once, with its jobs.
    #[must_use]
    pub(crate) fn procedures(&self) -> Vec<Vec<&Summary<'a>>> {
        let mut procedures: Vec<Vec<&Summary<'_>>> = Vec::new();
        for job in self.systems().into_iter().flat_map(|(_, _, jobs)| jobs) {
            match procedures.last_mut() {
                Some(last) if last[0].procedure.id == job.procedure.id => last.push(job),
                _ => procedures.push(vec![job]),
            }
        }
        procedures
    }

    /// A link to a job, or to its procedure on all its machines.
    pub(super) fn procedure_link(job: &Summary<'_>, machine: Option<&str>) -> Link {
        let procedure = &job.procedure.id;
        Link {
            title: job.procedure.title.value.clone(),
            target: match machine {
                Some(machine) => LinkTarget::procedure_on(procedure, machine),
                None => LinkTarget::procedure(procedure),
            },
        }
    }
}

/// The languages that pages are made in, besides that of an edition.
fn translations(output: &OutputContext) -> Vec<PageLanguage> {
    let others = output.languages.iter();
    let others = others.filter(|language| language.tag != output.edition.language);
    others.cloned().collect()
}

/// Where a sheet of a job, a machine or the shop is: under its machine's page and its procedure's
/// page, where those are made.
#[must_use]
pub(crate) fn nav_of_sheet(
    output: &OutputContext,
    procedure: Option<(&str, &str)>,
    machine: Option<(&str, &str)>,
) -> Nav {
    let made = |page: PageId, title: &str| {
        let is_made = output.makes(&page);
        is_made.then(|| Link::to_page(title, page))
    };
    let home = made(PageId::Front, output.edition.words.get("index"));
    let of_machine = machine.and_then(|(id, name)| made(PageId::Machine(id.to_owned()), name));
    let of_procedure = procedure.and_then(|(id, title)| {
        let link = made(PageId::Procedure(id.to_owned()), title)?;
        Some(match machine {
            Some((machine, _)) => Link {
                target: LinkTarget::procedure_on(id, machine),
                ..link
            },
            None => link,
        })
    });
    Nav {
        crumbs: [home, of_machine, of_procedure]
            .into_iter()
            .flatten()
            .collect(),
        translations: translations(output),
        ..Nav::default()
    }
}
