//! Links that several pages of the site have, with what is said beside them.

use super::order::ManualOrder;
use super::page::{LinkStyle, SiteEntry};
use super::{Link, MachineFaultTable, Site, SitePart};
use crate::page::{JobId, ListKind, PageId, SectionId, SheetKind, Topic, text::minutes};
use crate::sheet::{MachineWriter, Summary};
use crate::shop::Machine;
use crate::words::Words;

/// The most symptoms that a page has links to. The rest is on a list.
const MAX_SYMPTOMS: usize = 24;

/// A link to a machine, with its picture, its engine and the number of its jobs.
pub(super) fn machine_entry(
    site: &Site<'_, '_>,
    order: &ManualOrder<'_, '_>,
    machine: &Machine,
) -> Option<SiteEntry> {
    let link = site.link_if_made(&machine.name.value, PageId::Machine(machine.id.clone()))?;
    let engine = machine.engine.as_ref();
    let engine = engine.and_then(|engine| engine.kind.clone());
    let jobs = order.of_machine(&machine.id).len();
    Some(SiteEntry {
        about: engine
            .into_iter()
            .chain(procedures(site.words(), jobs))
            .collect(),
        picture: site.picture(machine),
        ..SiteEntry::bare(link)
    })
}

/// "12 procedures". `None` without any.
pub(super) fn procedures(words: &Words, count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some(words.get("one-procedure").to_owned()),
        count => Some(counted(words, "in-procedures", count)),
    }
}

pub(super) fn counted(words: &Words, key: &str, count: usize) -> String {
    words.format(key, &[("count", &count.to_string())])
}

/// A part with links. `None` without any.
pub(super) fn part(
    site: &Site<'_, '_>,
    topic: Topic,
    style: LinkStyle,
    entries: Vec<SiteEntry>,
) -> Option<SitePart> {
    (!entries.is_empty()).then(|| SitePart::Links {
        id: SectionId::Topic(topic),
        title: site.words().get(topic.name()).to_owned(),
        style,
        entries,
    })
}

/// Links to symptoms. If there are too many, the last link leads to the list of all.
pub(super) fn symptoms(site: &Site<'_, '_>, links: Vec<Link>) -> Option<SitePart> {
    let count = links.len();
    let entries = links.into_iter().take(MAX_SYMPTOMS).map(SiteEntry::bare);
    let mut entries: Vec<SiteEntry> = entries.collect();
    if count > MAX_SYMPTOMS {
        let title = counted(site.words(), "all-symptoms", count);
        let all = site.link_if_made(&title, PageId::List(ListKind::Symptoms));
        entries.extend(all.map(SiteEntry::bare));
    }
    part(site, Topic::Faults, LinkStyle::Chips, entries)
}

/// What is said beside a link to a job: the time allowed, and its interval.
pub(super) fn about_job(site: &Site<'_, '_>, job: &Summary<'_>) -> Vec<String> {
    let words = site.words();
    let time = job.minutes.map(minutes);
    time.map(|time| words.own(&time).into_owned())
        .into_iter()
        .chain(site.context().intervals(job.procedure))
        .collect()
}

/// A link to a fault table, if this run generates it.
pub(super) fn fault_link(site: &Site<'_, '_>, table: &MachineFaultTable<'_>) -> Option<Link> {
    let job = JobId::new(&table.machine.id, &table.fault.id);
    let page = PageId::JobSheet(SheetKind::FaultTable, job);
    site.link_if_made(&table.fault.title.value, page)
}

/// Links to the machine's inspections, each with its intervals.
pub(super) fn inspections(
    site: &Site<'_, '_>,
    order: &ManualOrder<'_, '_>,
    machine: &Machine,
) -> Vec<(Link, String)> {
    let jobs = order.of_machine(&machine.id).iter();
    let jobs = jobs.filter(|job| job.procedure.inspections().next().is_some());
    let links = jobs.map(|job| {
        let intervals = site.context().intervals(job.procedure);
        (Site::job_link(job), intervals.join("; "))
    });
    links.collect()
}

/// Links to the machine's jobs with an interval, the most frequent first, each with its interval.
pub(super) fn due_jobs(
    site: &Site<'_, '_>,
    order: &ManualOrder<'_, '_>,
    machine: &Machine,
    most: usize,
) -> Vec<(Link, String)> {
    let writer = MachineWriter {
        context: site.context(),
        machine,
        jobs: order.of_machine(&machine.id),
    };
    let due = writer.due_jobs().into_iter().take(most);
    due.map(|(job, interval)| (Site::job_link(job), interval))
        .collect()
}
