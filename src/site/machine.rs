//! A machine's pages: what is asked most, its jobs, and where its parts and readings are used.

use super::entries::{about_job, due_jobs, fault_link, inspections, part, procedures, symptoms};
use super::page::{LinkStyle, SiteEntry, SiteValue};
use super::{Link, ManualOrder, PageKind, Site, SitePage, SitePart};
use crate::job::Thing;
use crate::page::{Block, Cell, Fact, LinkTarget, PageId, SectionId, SheetKind, TextRun, Topic};
use crate::sheet::{Summary, Use, machine_facts, screen_block, uses};
use crate::shop::{Machine, Part};
use std::collections::BTreeMap;

/// The most jobs that a machine's page lists. If the machine has more, each of its systems has a page.
pub(crate) const MAX_JOBS_LISTED: usize = 100;

/// The most jobs that a machine's page has by interval.
const MAX_DUE: usize = 5;

/// The number of values that a machine's page has.
const VALUES: usize = 5;

/// A machine's page. `None` if this run does not generate it.
#[must_use]
pub(crate) fn machine(
    site: &Site<'_, '_>,
    order: &ManualOrder<'_, '_>,
    machine: &Machine,
) -> Option<SitePage> {
    let words = site.words();
    let id = PageId::Machine(machine.id.clone());
    if !site.output.includes(&id) {
        return None;
    }
    let mut page = site.page(id, PageKind::Machine, &machine.name.value);
    page.head.over = Some(words.get("machine").to_owned());
    page.head.picture = site.picture(machine);
    (page.head.nav.previous, page.head.nav.next) = neighbours(site, machine);
    page.head.facts = machine_facts(site.context(), machine)
        .into_iter()
        .map(|(key, text)| Fact {
            label: words.get(key).to_owned(),
            text,
        })
        .collect();
    page.parts.extend(faults(site, machine));
    page.parts.extend(inspected(site, order, machine));
    page.parts.extend(due(site, order, machine));
    page.parts.extend(values(site, order, machine));
    page.parts.extend(jobs(site, order, machine));
    page.parts.extend(details(site, machine));
    Some(page)
}

/// Links to the machine's sheets, and to where its parts are used.
fn details(site: &Site<'_, '_>, machine: &Machine) -> Option<SitePart> {
    let words = site.words();
    let sheets = SheetKind::OF_MACHINE.into_iter().filter_map(|kind| {
        let sheet = PageId::MachineSheet(kind, machine.id.clone());
        site.link_if_made(words.get(kind.title_key()), sheet)
    });
    let parts = PageId::MachineParts(machine.id.clone());
    let parts = site.link_if_made(words.get("parts-and-readings"), parts);
    let entries = sheets.chain(parts).map(SiteEntry::bare);
    part(site, Topic::Details, LinkStyle::Tiles, entries.collect())
}

/// The pages of a machine's systems, if it has too many jobs for its own page, and the page of where
/// its parts and readings are used.
#[must_use]
pub(crate) fn machine_details(
    site: &Site<'_, '_>,
    order: &ManualOrder<'_, '_>,
    machine: &Machine,
) -> Vec<SitePage> {
    let words = site.words();
    let mut pages = Vec::new();
    for (system, jobs) in by_system(order.of_machine(&machine.id)) {
        let page = system_page(machine, system);
        if site.output.includes(&page) {
            let title = site.shop.system_title(system);
            let mut page = site.page(page, PageKind::List, title);
            page.head.over = Some(machine.name.value.clone());
            page.parts.push(system_part(
                site,
                system,
                words.get("jobs").to_owned(),
                jobs,
            ));
            pages.push(page);
        }
    }
    let page = PageId::MachineParts(machine.id.clone());
    if site.output.includes(&page) {
        let title = words.get("parts-and-readings");
        let mut page = site.page(page, PageKind::List, title);
        page.head.over = Some(machine.name.value.clone());
        let blocks = where_used(site, machine, order.of_machine(&machine.id));
        page.parts.push(SitePart::Blocks {
            blocks: blocks.into_iter().map(screen_block).collect(),
        });
        pages.push(page);
    }
    pages
}

fn system_page(machine: &Machine, system: &str) -> PageId {
    PageId::MachineSystem {
        machine: machine.id.clone(),
        system: system.to_owned(),
    }
}

/// Links to the previous and the next machine, by name.
fn neighbours(site: &Site<'_, '_>, machine: &Machine) -> (Option<Link>, Option<Link>) {
    let machines = site.machines_with_pages();
    let index = machines.iter().position(|other| other.id == machine.id);
    let link = |index: Option<usize>| {
        let neighbour = machines.get(index?)?;
        let page = PageId::Machine(neighbour.id.clone());
        site.link_if_made(&neighbour.name.value, page)
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
    symptoms(
        site,
        tables.filter_map(|table| fault_link(site, table)).collect(),
    )
}

/// Links to the machine's inspections.
fn inspected(
    site: &Site<'_, '_>,
    order: &ManualOrder<'_, '_>,
    machine: &Machine,
) -> Option<SitePart> {
    let links = inspections(site, order, machine).into_iter();
    let entries = links.map(|(link, intervals)| SiteEntry {
        about: vec![intervals],
        ..SiteEntry::bare(link)
    });
    part(site, Topic::Inspections, LinkStyle::Rows, entries.collect())
}

fn due(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>, machine: &Machine) -> Option<SitePart> {
    let due = due_jobs(site, order, machine, MAX_DUE);
    let entries = due.into_iter().map(|(link, interval)| SiteEntry {
        about: vec![interval],
        ..SiteEntry::bare(link)
    });
    let mut entries: Vec<SiteEntry> = entries.collect();
    if !entries.is_empty() {
        let chart = PageId::MachineSheet(SheetKind::IntervalChart, machine.id.clone());
        let title = site.words().get(SheetKind::IntervalChart.title_key());
        let chart = site.link_if_made(title, chart);
        entries.extend(chart.map(SiteEntry::bare));
    }
    part(site, Topic::Due, LinkStyle::Rows, entries)
}

/// The values that are looked up most: of the readings and torques, those that most jobs use, and
/// what is filled in.
fn values(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>, machine: &Machine) -> Option<SitePart> {
    let context = site.context();
    let mut counts: BTreeMap<(bool, &str), usize> = BTreeMap::new();
    for job in order.of_machine(&machine.id) {
        for (thing, _) in &job.uses {
            let key = match thing {
                Thing::Reading(reading) => (true, reading.key.as_str()),
                Thing::Part(part) => (false, part.key.as_str()),
                _ => continue,
            };
            *counts.entry(key).or_default() += 1;
        }
    }
    let used = |is_reading: bool, key: &str| counts.get(&(is_reading, key)).copied();
    let most_used = |mut list: Vec<(usize, SiteValue)>| {
        // The sort is stable, so that values that are used equally often keep the machine's order.
        list.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
        list.into_iter().map(|(_, value)| value)
    };
    let readings = machine.readings.values().filter_map(|reading| {
        let value = SiteValue {
            label: reading.title().to_owned(),
            value: context.limits(reading)?,
            target: LinkTarget::Reading {
                machine: machine.id.clone(),
                reading: reading.key.clone(),
            },
        };
        Some((used(true, &reading.key)?, value))
    });
    let torques = machine.parts.values().filter_map(|part| {
        let value = SiteValue {
            label: part.name.clone(),
            value: context.value(part.full_torque()?),
            target: LinkTarget::Part {
                machine: machine.id.clone(),
                part: part.key.clone(),
            },
        };
        Some((used(false, &part.key)?, value))
    });
    let data = PageId::MachineSheet(SheetKind::MachineData, machine.id.clone());
    let fluids = machine.fluids.values().filter_map(|fluid| {
        Some(SiteValue {
            label: fluid.name.clone(),
            value: context.value(fluid.capacity.as_ref()?),
            target: LinkTarget::Page(data.clone()),
        })
    });
    let mut readings = most_used(readings.collect());
    let mut torques = most_used(torques.collect());
    let mut values: Vec<SiteValue> = readings.by_ref().take(2).collect();
    values.extend(torques.by_ref().take(1));
    values.extend(fluids.take(VALUES - 3));
    values.extend(readings.chain(torques));
    values.truncate(VALUES);
    (!values.is_empty()).then(|| SitePart::Values {
        id: SectionId::Topic(Topic::Values),
        title: site.words().get(Topic::Values.name()).to_owned(),
        values,
    })
}

/// Jobs by system, in the manual's order.
fn by_system<'o, 's, 'a>(
    jobs: &'o [&'s Summary<'a>],
) -> impl Iterator<Item = (&'s str, &'o [&'s Summary<'a>])> {
    jobs.chunk_by(|left, right| left.procedure.system == right.procedure.system)
        .map(|jobs| (jobs[0].procedure.system.as_str(), jobs))
}

/// Links to the machine's jobs, by system, or to the pages of its systems.
fn jobs(site: &Site<'_, '_>, order: &ManualOrder<'_, '_>, machine: &Machine) -> Vec<SitePart> {
    let jobs = order.of_machine(&machine.id);
    if jobs.len() <= MAX_JOBS_LISTED {
        let parts = by_system(jobs)
            .map(|(system, jobs)| system_part(site, system, site.shop.system_title(system), jobs));
        return parts.collect();
    }
    let entries = by_system(jobs).filter_map(|(system, jobs)| {
        let title = site.shop.system_title(system);
        Some(SiteEntry {
            about: procedures(site.words(), jobs.len()).into_iter().collect(),
            ..SiteEntry::bare(site.link_if_made(&title, system_page(machine, system))?)
        })
    });
    let part = part(site, Topic::Systems, LinkStyle::Tiles, entries.collect());
    part.into_iter().collect()
}

fn system_part(
    site: &Site<'_, '_>,
    system: &str,
    title: String,
    jobs: &[&Summary<'_>],
) -> SitePart {
    let entries = jobs.iter().map(|job| SiteEntry {
        about: about_job(site, job),
        sheets: site.sheets_of(job),
        ..SiteEntry::bare(Site::job_link(job))
    });
    SitePart::Links {
        id: SectionId::System(system.to_owned()),
        title,
        style: LinkStyle::Rows,
        entries: entries.collect(),
    }
}

/// The first figure that a part has a number in, as a link to it: "Carburettor, drawn apart (3)".
fn drawn_in(site: &Site<'_, '_>, machine: &Machine, part: &Part) -> Vec<TextRun> {
    let Some((legend, number)) = site.shop.first_callout(machine.index, &part.key) else {
        return Vec::new();
    };
    let target = LinkTarget::Drawn {
        machine: machine.id.clone(),
        thing: part.key.clone(),
    };
    let text = TextRun::text(format!("{} ({number})", legend.title));
    vec![TextRun::link(target, vec![text])]
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
                link: None,
            },
            Cell::text(part.number.clone().unwrap_or_default()),
            Cell::Text {
                runs: drawn_in(site, machine, part),
            },
            Cell::Text {
                runs: super::used_in::used_in(site, find_use("part", &part.key)),
            },
        ]
    });
    let columns = [("part", 4), ("number", 3), ("figure", 4), ("used-in", 9)];
    let parts = context.table_section(Topic::WhereUsed, &columns, parts.collect());
    let readings = machine.readings.values().map(|reading| {
        vec![
            Cell::Place {
                text: reading.title().to_owned(),
                place: LinkTarget::Reading {
                    machine: machine.id.clone(),
                    reading: reading.key.clone(),
                },
                link: None,
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
