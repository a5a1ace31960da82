//! A machine's page: fault tables, procedures, intervals, data, and where its parts and readings
//! are used.

use super::{Link, PageKind, Site, SiteEntry, SitePage, SitePart};
use crate::page::text::minutes;
use crate::page::{
    Block, Cell, Fact, JobId, LinkTarget, PageId, SectionId, SheetKind, Topic, author_words,
};
use crate::sheet::{MachineWriter, Summary, Use, machine_facts, screen_block, uses};
use crate::shop::Machine;

/// A machine's page. `None` if this run does not generate it.
#[must_use]
pub(crate) fn machine(site: &Site<'_, '_>, machine: &Machine) -> Option<SitePage> {
    let words = site.words();
    let jobs: Vec<&Summary<'_>> = site
        .jobs
        .iter()
        .filter(|job| job.machine.id == machine.id)
        .collect();
    let id = PageId::Machine(machine.id.clone());
    if !site.output.includes(&id) {
        return None;
    }
    let mut page = site.page(id, PageKind::Machine, &machine.name.value);
    page.head.over = Some(words.get("machine").to_owned());
    (page.head.nav.previous, page.head.nav.next) = neighbours(site, machine);
    page.head.facts = machine_facts(site.context(), machine)
        .into_iter()
        .map(|(key, text)| Fact {
            label: words.get(key).to_owned(),
            text,
        })
        .collect();
    page.head.links = SheetKind::OF_MACHINE
        .into_iter()
        .filter_map(|kind| {
            let sheet = PageId::MachineSheet(kind, machine.id.clone());
            site.link_if_made(words.get(kind.title_key()), sheet)
        })
        .collect();
    page.parts.extend(faults(site, machine));
    page.parts.extend(procedures(site, machine));
    let writer = MachineWriter {
        context: site.context(),
        machine,
        jobs: &jobs,
    };
    let mut blocks = writer.blocks(SheetKind::IntervalChart);
    blocks.extend(writer.blocks(SheetKind::MachineData));
    blocks.extend(where_used(site, machine, &jobs));
    page.parts.push(SitePart::Blocks {
        blocks: blocks.into_iter().map(screen_block).collect(),
    });
    Some(page)
}

/// Links to the previous and the next machine, by name.
fn neighbours(site: &Site<'_, '_>, machine: &Machine) -> (Option<Link>, Option<Link>) {
    let mut machines = site.machines();
    let page = |machine: &Machine| PageId::Machine(machine.id.clone());
    machines.retain(|machine| site.output.includes(&page(machine)));
    let index = machines.iter().position(|other| other.id == machine.id);
    let link = |index: Option<usize>| {
        let neighbour = machines.get(index?)?;
        site.link_if_made(&neighbour.name.value, page(neighbour))
    };
    (
        link(index.and_then(|index| index.checked_sub(1))),
        link(index.map(|index| index + 1)),
    )
}

/// Links to the machine's fault tables.
fn faults(site: &Site<'_, '_>, machine: &Machine) -> Option<SitePart> {
    let tables = site.faults.iter();
    let tables = tables.filter(|table| table.machine.id == machine.id);
    let entries: Vec<SiteEntry> = tables
        .filter_map(|table| {
            let job = JobId::new(&machine.id, &table.fault.id);
            let page = PageId::JobSheet(SheetKind::FaultTable, job);
            Some(SiteEntry {
                link: site.link_if_made(&table.fault.title.value, page)?,
                about: Vec::new(),
                sheets: Vec::new(),
            })
        })
        .collect();
    (!entries.is_empty()).then(|| SitePart::Links {
        id: SectionId::Topic(Topic::Faults),
        title: site.words().get(Topic::Faults.name()).to_owned(),
        entries,
    })
}

/// Links to the machine's procedures, by system.
fn procedures(site: &Site<'_, '_>, machine: &Machine) -> Vec<SitePart> {
    let author = author_words(site.shop);
    let words = site.words();
    let interval = |text: &String| words.translated_intervals(text, author);
    let mut parts = Vec::new();
    for (id, title, jobs) in site.systems() {
        let jobs = jobs.into_iter();
        let entries: Vec<SiteEntry> = jobs
            .filter(|job| job.machine.id == machine.id)
            .map(|job| SiteEntry {
                link: Site::job_link(job),
                about: job
                    .minutes
                    .map(|count| words.own(&minutes(count)).into_owned())
                    .into_iter()
                    .chain(job.procedure.interval.as_ref().map(interval))
                    .collect(),
                sheets: site.sheets_of(job),
            })
            .collect();
        if !entries.is_empty() {
            parts.push(SitePart::Links {
                id: SectionId::System(id.to_owned()),
                title,
                entries,
            });
        }
    }
    parts
}

/// The tables of where the machine's parts and readings are used.
fn where_used(site: &Site<'_, '_>, machine: &Machine, jobs: &[&Summary<'_>]) -> Vec<Block> {
    let context = site.context();
    let uses = uses(jobs);
    let find_use = |kind: &str, id: &str| -> Option<&Use<'_>> {
        uses.iter().find(|usage| {
            usage.kind == kind && usage.id == id && usage.machine == Some(machine.id.as_str())
        })
    };
    let parts = machine.parts.values().map(|part| {
        vec![
            Cell::Place {
                text: part.name.clone(),
                place: LinkTarget::Part {
                    machine: machine.id.clone(),
                    part: part.key.clone(),
                },
            },
            Cell::text(part.number.clone().unwrap_or_default()),
            Cell::Text {
                runs: super::used_in::used_in(site, find_use("part", &part.key)),
            },
        ]
    });
    let columns = [("part", 4), ("number", 3), ("used-in", 9)];
    let parts = context.table_section(Topic::WhereUsed, &columns, parts.collect());
    let readings = machine.readings.values().map(|reading| {
        vec![
            Cell::Place {
                text: reading.name.clone(),
                place: LinkTarget::Reading {
                    machine: machine.id.clone(),
                    reading: reading.key.clone(),
                },
            },
            Cell::Text {
                runs: super::used_in::used_in(site, find_use("reading", &reading.key)),
            },
        ]
    });
    let columns = [("reading", 5), ("used-in", 9)];
    let readings = context.table_section(Topic::ReadingsTaken, &columns, readings.collect());
    parts.into_iter().chain(readings).collect()
}
