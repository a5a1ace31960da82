//! A machine's page: its faults, its procedures, its values, where its parts are used.

use super::{Entry, Page, PageKind, Part, Site};
use crate::page::text::{anchor, minutes};
use crate::page::{Block, Cell, Fact, LeafKind, machine_page_path, machine_path, path};
use crate::sheet::{MachineWriter, Summary, Use, uses};
use crate::shop::Machine;

/// A machine's page; none where it has neither a job nor a fault table.
#[must_use]
pub fn machine(site: &Site<'_, '_>, machine: &Machine) -> Option<Page> {
    let words = &site.setting.edition.words;
    let jobs: Vec<&Summary<'_>> = site
        .jobs
        .iter()
        .filter(|job| job.machine.id == machine.id)
        .collect();
    if !site.setting.is_made(&machine_page_path(&machine.id)) {
        return None;
    }
    let name = machine.name.value.clone();
    let mut page = site.page(PageKind::Machine, name, &machine_page_path(&machine.id));
    page.over = Some(words.get("machine").to_owned());
    (page.nav.previous, page.nav.next) = neighbours(site, machine);
    let engine = machine.engine.as_ref();
    let facts = [
        ("engine", engine.and_then(|engine| engine.kind.clone())),
        ("basis", machine.basis.clone()),
    ];
    page.facts = facts
        .into_iter()
        .filter_map(|(key, text)| {
            Some(Fact {
                label: words.get(key).to_owned(),
                text: text?,
            })
        })
        .collect();
    page.links = LeafKind::OF_MACHINE
        .into_iter()
        .filter_map(|kind| {
            let path = machine_path(&machine.id, kind);
            site.link_if_made(words.get(kind.title_key()), &path)
        })
        .collect();
    page.parts.extend(faults(site, machine));
    page.parts.extend(procedures(site, machine));
    let writer = |kind| MachineWriter {
        desk: site.desk(kind),
        machine,
        jobs: &jobs,
    };
    let mut blocks = writer(LeafKind::IntervalChart).intervals();
    blocks.extend(writer(LeafKind::MachineData).data());
    blocks.extend(where_used(site, machine, &jobs));
    let blocks = blocks.into_iter().map(|block| match block {
        Block::Section(mut section) => {
            section.blocks = section.blocks.into_iter().map(super::unwritten).collect();
            Block::Section(section)
        }
        other => other,
    });
    page.parts.push(Part::Blocks {
        blocks: blocks.collect(),
    });
    Some(page)
}

/// The machines before and after it, by name.
fn neighbours(
    site: &Site<'_, '_>,
    machine: &Machine,
) -> (Option<super::Link>, Option<super::Link>) {
    let mut machines: Vec<&Machine> = site.shop.machines.values().collect();
    machines.retain(|one| site.setting.is_made(&machine_page_path(&one.id)));
    machines.sort_by_key(|one| &one.name.value);
    let at = machines.iter().position(|one| one.id == machine.id);
    let link = |at: Option<usize>| {
        let one = machines.get(at?)?;
        site.link_if_made(&one.name.value, &machine_page_path(&one.id))
    };
    (
        link(at.and_then(|at| at.checked_sub(1))),
        link(at.map(|at| at + 1)),
    )
}

/// The machine's fault tables: what may be wrong with it.
fn faults(site: &Site<'_, '_>, machine: &Machine) -> Option<Part> {
    let own = site.faults.iter().filter(|of| of.machine.id == machine.id);
    let entries: Vec<Entry> = own
        .filter_map(|of| {
            let path = path(&machine.id, &of.fault.id, LeafKind::FaultTable);
            Some(Entry {
                link: site.link_if_made(&of.fault.title.value, &path)?,
                about: Vec::new(),
                leaves: Vec::new(),
            })
        })
        .collect();
    (!entries.is_empty()).then(|| Part::Links {
        title: site.setting.edition.words.get("faults").to_owned(),
        anchor: "faults".to_owned(),
        entries,
    })
}

/// The machine's procedures, by system.
fn procedures(site: &Site<'_, '_>, machine: &Machine) -> Vec<Part> {
    let mut parts = Vec::new();
    for (id, title, jobs) in site.systems() {
        let own = jobs.into_iter().filter(|job| job.machine.id == machine.id);
        let entries: Vec<Entry> = own
            .map(|job| Entry {
                link: site.procedure_link(job, Some(&machine.id)),
                about: [job.minutes.map(minutes), job.procedure.interval.clone()]
                    .into_iter()
                    .flatten()
                    .collect(),
                leaves: site.leaves_of(job),
            })
            .collect();
        if !entries.is_empty() {
            parts.push(Part::Links {
                title,
                anchor: format!("system-{}", anchor(id)),
                entries,
            });
        }
    }
    parts
}

/// Where each of the machine's parts and readings is used.
fn where_used(site: &Site<'_, '_>, machine: &Machine, jobs: &[&Summary<'_>]) -> Vec<Block> {
    let desk = site.desk(LeafKind::WhereUsed);
    let all = uses(jobs);
    let found = |kind: &str, id: &str| -> Option<&Use<'_>> {
        all.iter().find(|one| {
            one.kind == kind && one.id == id && one.machine == Some(machine.id.as_str())
        })
    };
    let parts = machine.parts.values().map(|part| {
        vec![
            Cell::Place {
                text: part.name.clone(),
                anchor: format!("part-{}", part.key),
            },
            Cell::text(part.number.clone().unwrap_or_default()),
            Cell::Text {
                runs: super::used_in(site, found("part", &part.key)),
            },
        ]
    });
    let columns = [("part", 4), ("number", 3), ("used-in", 9)];
    let parts = desk.table_section("kind-where-used", &columns, parts.collect());
    let readings = machine.readings.values().map(|reading| {
        vec![
            Cell::Place {
                text: reading.name.clone(),
                anchor: format!("reading-{}", reading.key),
            },
            Cell::Text {
                runs: super::used_in(site, found("reading", &reading.key)),
            },
        ]
    });
    let columns = [("reading", 5), ("used-in", 9)];
    let readings = desk.table_section("readings-taken", &columns, readings.collect());
    parts.into_iter().chain(readings).collect()
}
