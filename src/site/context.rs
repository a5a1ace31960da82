//! The context in which the pages of the site are composed, and their navigation.

use super::link::Link;
use super::nav::{Here, Nav, NavLink, NavWriter};
use super::order::ManualOrder;
use super::page::{PageHead, PageKind, SitePage};
use crate::page::{
    Figure, FigureId, JobId, LinkTarget, OutputContext, PageContext, PageId, SheetKind, notices,
};
use crate::sheet::Summary;
use crate::shop::{Machine, Shop};
use crate::words::Words;

/// The most machines in the side column.
const MAX_MACHINES: usize = 12;

/// The input of the site's pages.
#[derive(Clone, Copy)]
pub(crate) struct Site<'s, 'a> {
    pub(crate) shop: &'a Shop,
    /// The jobs, in order of procedure and then machine.
    pub(crate) jobs: &'s [Summary<'a>],
    /// One entry for each fault table and machine.
    pub(crate) faults: &'s [MachineFaultTable<'a>],
    /// The language, and the pages that are generated.
    pub(crate) output: &'s OutputContext,
}

impl std::fmt::Debug for Site<'_, '_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Site").finish_non_exhaustive()
    }
}

/// A fault table on one of its machines.
#[derive(Clone, Copy, Debug)]
pub(crate) struct MachineFaultTable<'a> {
    pub(crate) fault: &'a crate::procedure::Procedure,
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

    /// A link to a page, if this run generates the page.
    pub(super) fn link_if_made(&self, title: &str, page: PageId) -> Option<Link> {
        let is_made = self.output.includes(&page);
        is_made.then(|| Link::to_page(title, page))
    }

    /// Links to the sheets of a job that this run generates.
    pub(super) fn sheets_of(&self, job: &Summary<'_>) -> Vec<NavLink> {
        let writer = NavWriter {
            output: self.output,
            page: &PageId::Front,
        };
        let kinds = SheetKind::OF_JOB.into_iter();
        kinds
            .filter_map(|kind| {
                let job = JobId::new(&job.machine.id, &job.procedure.id);
                let title = self.words().get(kind.title_key());
                writer.link(title, PageId::JobSheet(kind, job))
            })
            .collect()
    }

    /// The fault tables by their title, each with its machines.
    pub(super) fn faults_by_machine(&self) -> Vec<Vec<MachineFaultTable<'a>>> {
        let mut faults: Vec<MachineFaultTable<'_>> = self.faults.to_vec();
        let key = |table: &MachineFaultTable<'a>| {
            let fault = table.fault;
            (&fault.title.value, &fault.id, &table.machine.name.value)
        };
        faults.sort_by(|left, right| key(left).cmp(&key(right)));
        let tables = faults.chunk_by(|left, right| left.fault.id == right.fault.id);
        tables.map(<[_]>::to_vec).collect()
    }

    /// The machines that have a page, by name.
    pub(super) fn machines_with_pages(&self) -> Vec<&'a Machine> {
        let mut machines = self.machines();
        machines.retain(|machine| self.output.includes(&PageId::Machine(machine.id.clone())));
        machines
    }

    /// A machine's picture.
    pub(super) fn picture(&self, machine: &Machine) -> Option<Figure> {
        let id = FigureId(machine.picture.as_ref()?.value.clone());
        let facts = self.output.figure(&id)?;
        Some(Figure {
            content: facts.content.clone(),
            least_width: None,
            size: facts.size(),
            number: 1,
            again: false,
            optional: false,
            alt: machine.name.value.clone(),
            caption: None,
            marked: None,
            id,
        })
    }

    /// A page with its head filled in and without parts.
    pub(super) fn page(&self, id: PageId, kind: PageKind, title: impl Into<String>) -> SitePage {
        let edition = &self.output.edition;
        let title = title.into();
        let head = PageHead {
            nav: self.nav(&id, &title),
            page: id,
            kind,
            title,
            over: None,
            shop: self.shop.name.clone(),
            language: edition.language.clone(),
            data_note: self.shop.data_note.clone(),
            picture: None,
            facts: Vec::new(),
            manual: None,
            notices: notices(self.shop, &edition.words),
        };
        SitePage {
            head,
            parts: Vec::new(),
        }
    }

    /// The navigation of a page: the machines, or one of them, and the lists.
    fn nav(&self, page: &PageId, title: &str) -> Nav {
        let writer = NavWriter {
            output: self.output,
            page,
        };
        let of_machine = match page {
            PageId::Machine(id)
            | PageId::MachineParts(id)
            | PageId::MachineSystem { machine: id, .. } => self.shop.machines.get(id),
            _ => None,
        };
        let mut machines = self.machines_with_pages();
        // The list of machines, which is among the lists, has all.
        if machines.len() > MAX_MACHINES {
            machines.clear();
        }
        let machines = machines.into_iter().filter_map(|machine| {
            let page = PageId::Machine(machine.id.clone());
            writer.link(&machine.name.value, page)
        });
        let here = of_machine.filter(|machine| *page != PageId::Machine(machine.id.clone()));
        let here = here.map(|machine| Here {
            title: Link::to_page(title, page.clone()),
            machine: Link::to_page(&machine.name.value, PageId::Machine(machine.id.clone())),
        });
        let of_machine =
            of_machine.and_then(|machine| writer.machine(&machine.id, &machine.name.value));
        let machines = NavWriter::group(Some(self.words().get("machines")), machines);
        let groups = match page {
            // The machines have nothing to do with the rules.
            PageId::Rules | PageId::RuleFamily(_) => {
                [writer.front(), writer.rules(), writer.lists(), None]
            }
            _ => [writer.front(), of_machine, machines, writer.lists()],
        };
        Nav {
            here,
            groups: groups.into_iter().flatten().collect(),
            ..writer.nav()
        }
    }

    /// The machines by name.
    pub(super) fn machines(&self) -> Vec<&'a Machine> {
        let mut machines: Vec<&Machine> = self.shop.machines.values().collect();
        machines.sort_by_key(|machine| &machine.name.value);
        machines
    }

    /// The systems that have jobs, in the shop's order, each with its folder, its title and its
    /// jobs. Jobs that the shop puts into no order are sorted by title, after those that it does.
    pub(super) fn systems(&self) -> Vec<(&'a str, String, Vec<&Summary<'a>>)> {
        let mut systems: Vec<(&str, String, Vec<&Summary<'_>>)> = Vec::new();
        for job in self.jobs {
            let id = job.procedure.system.as_str();
            match systems.iter_mut().find(|(known, _, _)| *known == id) {
                Some((_, _, jobs)) => jobs.push(job),
                None => systems.push((id, self.shop.system_title(id), vec![job])),
            }
        }
        systems.sort_by_key(|(id, _, _)| self.shop.chapter_place(id));
        for (id, _, jobs) in &mut systems {
            jobs.sort_by_key(|job| {
                (
                    self.shop.procedure_place(id, &job.procedure.id),
                    job.procedure.title.value.as_str(),
                    job.procedure.id.as_str(),
                )
            });
        }
        systems
    }

    /// The procedures, each once with its jobs, by system and title.
    #[must_use]
    pub(crate) fn procedures(&self) -> ManualOrder<'_, 'a> {
        let mut procedures: Vec<Vec<&Summary<'_>>> = Vec::new();
        for job in self.systems().into_iter().flat_map(|(_, _, jobs)| jobs) {
            match procedures.last_mut() {
                Some(last) if last[0].procedure.id == job.procedure.id => last.push(job),
                _ => procedures.push(vec![job]),
            }
        }
        ManualOrder::new(procedures)
    }

    /// A link to a procedure: to its page, or to its sheet if it is for one machine.
    pub(super) fn procedure_link(&self, job: &Summary<'_>) -> Link {
        let procedure = PageId::Procedure(job.procedure.id.clone());
        let title = &job.procedure.title.value;
        let link = self.link_if_made(title, procedure);
        link.unwrap_or_else(|| Site::job_link(job))
    }

    /// A link to a job's sheet.
    pub(super) fn job_link(job: &Summary<'_>) -> Link {
        Link {
            title: job.procedure.title.value.clone(),
            target: LinkTarget::Job(JobId::new(&job.machine.id, &job.procedure.id)),
        }
    }
}
