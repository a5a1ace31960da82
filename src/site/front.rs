//! The front page. It leads to everything, and is short however large the shop is: longer lists have
//! pages of their own.

use super::entries::{
    counted, due_jobs, fault_link, inspections, machine_entry, part, procedures, symptoms,
};
use super::page::{LinkStyle, SiteEntry};
use super::rules::rules_link;
use super::{Link, ManualOrder, PageKind, Site, SitePage, SitePart};
use crate::page::{LinkTarget, ListKind, PageId, SectionId, SheetKind, Topic};
use crate::sheet::Summary;

/// The most machines that the front page has links to. The rest is on a list.
const MAX_MACHINES: usize = 24;

/// The most machines whose most frequent job the front page has.
const MAX_DUE: usize = 8;

/// The most systems on the front page. Others are reached from their machines, and by search.
const MAX_SYSTEMS: usize = 300;

#[must_use]
pub(crate) fn front(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>) -> SitePage {
    let words = site.words();
    let mut page = site.page(PageId::Front, PageKind::Front, words.get("index-title"));
    page.head.manual = Some(Link::to_page(words.get("manual"), PageId::whole_manual()));
    page.parts.extend(faults(site));
    if !page.parts.is_empty() || !site.jobs.is_empty() {
        page.parts.push(SitePart::OpenJobs);
    }
    page.parts.extend(machines(site, order));
    page.parts.extend(inspected(site, order));
    page.parts.extend(due(site, order));
    page.parts.extend(systems(site));
    page.parts.extend(lists(site));
    page
}

/// Links to the lists. On a narrow screen, the side column is behind a button.
fn lists(site: &Site<'_, '_>) -> Option<SitePart> {
    let words = site.words();
    let lists = ListKind::ALL.into_iter();
    let links =
        lists.filter_map(|list| site.link_if_made(words.get(list.title_key()), PageId::List(list)));
    let where_used = words.get(SheetKind::WhereUsed.title_key());
    let where_used = site.link_if_made(where_used, PageId::WhereUsed);
    let links = links.chain(where_used).chain(rules_link(site));
    let entries = links.map(SiteEntry::bare);
    part(site, Topic::Lists, LinkStyle::Tiles, entries.collect())
}

/// A link to each symptom: to its fault table, or to the list of its machines if it has several.
fn faults(site: &Site<'_, '_>) -> Option<SitePart> {
    let faults = site.faults_by_machine();
    let links = faults.iter().filter_map(|tables| match tables.as_slice() {
        [table] => fault_link(site, table),
        [table, ..] => {
            let list = PageId::List(ListKind::Symptoms);
            let section = SectionId::Fault(table.fault.id.clone());
            let mut link = site.link_if_made(&table.fault.title.value, list)?;
            link.target = link.target.section(section);
            Some(link)
        }
        [] => None,
    });
    symptoms(site, links.collect())
}

/// A card for each machine.
fn machines(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>) -> Option<SitePart> {
    let machines = site.machines_with_pages();
    let shown = machines.iter().take(MAX_MACHINES);
    let entries = shown.filter_map(|machine| machine_entry(site, order, machine));
    let mut entries: Vec<SiteEntry> = entries.collect();
    if machines.len() > MAX_MACHINES {
        let title = counted(site.words(), "all-machines", machines.len());
        let all = site.link_if_made(&title, PageId::List(ListKind::Machines));
        entries.extend(all.map(SiteEntry::bare));
    }
    part(site, Topic::Machines, LinkStyle::Cards, entries)
}

/// The inspections of each machine.
fn inspected(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>) -> Option<SitePart> {
    let machines = site.machines_with_pages().into_iter();
    let entries = machines.flat_map(|machine| {
        let links = inspections(site, order, machine).into_iter();
        links.map(|(link, intervals)| SiteEntry {
            about: vec![machine.name.value.clone(), intervals],
            ..SiteEntry::bare(link)
        })
    });
    let entries = entries.take(MAX_DUE).collect();
    part(site, Topic::Inspections, LinkStyle::Rows, entries)
}

/// The most frequent job of each machine, and the tool that has to be calibrated next.
fn due(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>) -> Option<SitePart> {
    let mut entries = Vec::new();
    for machine in site.machines_with_pages() {
        if entries.len() == MAX_DUE {
            break;
        }
        let due = due_jobs(site, order, machine, 1);
        let entry = due.into_iter().next().map(|(link, interval)| SiteEntry {
            about: vec![machine.name.value.clone(), interval],
            ..SiteEntry::bare(link)
        });
        entries.extend(entry);
    }
    entries.extend(calibrations(site));
    part(site, Topic::Due, LinkStyle::Rows, entries)
}

/// The tool that has to be calibrated first.
fn calibrations(site: &Site<'_, '_>) -> Option<SiteEntry> {
    let tools = site.shop.tools.values();
    let dated = tools.filter_map(|tool| Some((tool.due.as_ref()?.value.to_string(), tool)));
    let (day, tool) = dated.min_by(|(left, _), (right, _)| left.cmp(right))?;
    let title = site.words().get("calibrated-until");
    let mut link = site.link_if_made(title, PageId::List(ListKind::Tools))?;
    link.target = LinkTarget::Tool(tool.key.clone());
    Some(SiteEntry {
        about: vec![tool.name.clone(), day],
        ..SiteEntry::bare(link)
    })
}

/// A link to each system, with the number of its procedures.
fn systems(site: &Site<'_, '_>) -> Option<SitePart> {
    let systems = site.systems().into_iter().take(MAX_SYSTEMS);
    let entries = systems.filter_map(|(id, title, jobs)| {
        let count = count_procedures(&jobs);
        Some(SiteEntry {
            about: procedures(site.words(), count).into_iter().collect(),
            ..SiteEntry::bare(site.link_if_made(&title, PageId::System(id.to_owned()))?)
        })
    });
    part(site, Topic::Systems, LinkStyle::Tiles, entries.collect())
}

/// The number of procedures of jobs in order of procedure.
fn count_procedures(jobs: &[&Summary<'_>]) -> usize {
    let by_procedure = jobs.chunk_by(|left, right| left.procedure.id == right.procedure.id);
    by_procedure.count()
}

/// The page of each system: its procedures, each with its machines.
#[must_use]
pub(crate) fn systems_pages(site: &Site<'_, '_>) -> Vec<SitePage> {
    let systems = site.systems().into_iter();
    let pages = systems.filter_map(|(id, title, jobs)| {
        let page = PageId::System(id.to_owned());
        if !site.output.includes(&page) {
            return None;
        }
        let mut page = site.page(page, PageKind::List, title);
        page.head.over = Some(site.words().get(Topic::Systems.name()).to_owned());
        let by_procedure = jobs.chunk_by(|left, right| left.procedure.id == right.procedure.id);
        let entries = by_procedure.map(|jobs| procedure_entry(site, jobs));
        let topic = Topic::Procedures;
        let title = site.words().get("jobs");
        page.parts.push(SitePart::Links {
            id: SectionId::Topic(topic),
            title: title.to_owned(),
            style: LinkStyle::Rows,
            entries: entries.collect(),
        });
        Some(page)
    });
    pages.collect()
}

/// A link to a procedure with its machines.
fn procedure_entry(site: &Site<'_, '_>, jobs: &[&Summary<'_>]) -> SiteEntry {
    /// The most machines that are named.
    const MAX_NAMED: usize = 4;
    let words = site.words();
    let machines = jobs.iter().map(|job| job.machine.name.value.clone());
    let about = if jobs.len() > 2 && jobs.len() == site.shop.machines.len() {
        vec![words.get("every-machine").to_owned()]
    } else if jobs.len() > MAX_NAMED {
        vec![counted(words, "on-count", jobs.len())]
    } else {
        machines.collect()
    };
    SiteEntry {
        about,
        ..SiteEntry::bare(site.procedure_link(jobs[0]))
    }
}
