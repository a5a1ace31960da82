//! The pages that lead to others stay short however large the shop is: they are rendered for shops of many machines,
//! procedures and fault tables, which are copies of those of the demonstration.

use super::support::root;
use crate::finding::Family;
use crate::page::{Edition, JobId, ListKind, OutputContext, PageId, SheetKind};
use crate::procedure::Procedure;
use crate::render::{Html, Look, Paths};
use crate::sheet::{JobDocument, Summary};
use crate::shop::{Machine, Records};
use crate::site::{self, MAX_JOBS_LISTED, MachineFaultTable, Site, SitePage};
use crate::tree::Disk;
use crate::{CheckedJobs, Rehearsed, Sources};
use std::collections::BTreeSet;

const MAX_BYTES: usize = 150_000;

fn demo() -> Sources {
    crate::read(&Disk::open(&root().join("procedures")).unwrap())
}

fn find<'c, 'a>(
    checked: &'c CheckedJobs<'a, Rehearsed<'a>>,
    procedure: &str,
    machine: &str,
) -> &'c Rehearsed<'a> {
    let mut jobs = checked.jobs.iter();
    let found = jobs.find(|rehearsed| {
        rehearsed.job.procedure.id == procedure && rehearsed.job.machine.id == machine
    });
    found.expect("the job is in the demonstration")
}

/// Copies of the machine, with other ids and names.
fn machines(machine: &Machine, count: usize) -> Vec<Machine> {
    let copies = (0..count).map(|index| {
        let mut copy = machine.clone();
        copy.id = format!("{}-{index}", machine.id);
        copy.name.value = format!("{} no. {index}", machine.name.value);
        copy
    });
    copies.collect()
}

/// Copies of the procedure in a number of systems.
fn procedures(procedure: &Procedure, count: usize, systems: usize) -> Vec<Procedure> {
    let copies = (0..count).map(|index| {
        let mut copy = procedure.clone();
        copy.id = format!("{}-{index:05}", procedure.id);
        copy.title.value = format!("No. {index}, {}", procedure.title.value);
        copy.system = format!("system-{}", index % systems);
        copy
    });
    copies.collect()
}

fn bytes(page: &SitePage, output: &OutputContext) -> usize {
    let words = &output.edition.words;
    let html = Html::new(&Look::default(), None, words).unwrap();
    let paths = Paths::new(output, None);
    let addresses = Html::addresses_of_page(paths, page, &|_| true);
    html.page(page, &addresses).unwrap().len()
}

fn output(sources: &Sources, pages: BTreeSet<PageId>) -> OutputContext {
    OutputContext::new(&sources.tree, &Edition::first(&sources.shop), pages)
}

/// A shop with one procedure on copies of a machine: the size of the procedure's page and of a sheet.
fn sizes_with_machines(sources: &Sources, count: usize) -> (usize, usize) {
    let checked = crate::check_all(sources);
    let rehearsed = find(&checked, "governor-linkage", "tarn-yarrow");
    let procedure = rehearsed.job.procedure;
    let machines = machines(rehearsed.job.machine, count);
    let jobs: Vec<Summary<'_>> = machines
        .iter()
        .map(|machine| Summary {
            machine,
            ..Summary::of(&rehearsed.job)
        })
        .collect();
    let ids = machines
        .iter()
        .map(|machine| JobId::new(&machine.id, &procedure.id));
    let mut pages: BTreeSet<PageId> = ids
        .flat_map(|id| SheetKind::OF_JOB.map(|kind| PageId::JobSheet(kind, id.clone())))
        .collect();
    pages.extend([PageId::Front, PageId::Procedure(procedure.id.clone())]);
    let output = output(sources, pages);
    let site = Site {
        shop: &sources.shop,
        jobs: &jobs,
        faults: &[],
        output: &output,
    };
    let order = site.procedures();
    let document = JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, &output);
    let page = site::procedure(&site, &order.procedures[0], &document).unwrap();
    let sheet = document.sheet(SheetKind::ShopSheet).unwrap();
    let nav = site::nav_of_job_sheet(&site, &order, (0, 0), SheetKind::ShopSheet);
    let html = Html::new(&Look::default(), None, &output.edition.words).unwrap();
    let addresses = Html::addresses_of_sheet(Paths::new(&output, None), &sheet, &nav, &|_| true);
    let sheet = html.sheet(&sheet, &nav, &addresses).unwrap();
    (bytes(&page, &output), sheet.len())
}

#[test]
fn a_procedure_page_does_not_grow_with_the_number_of_machines() {
    let sources = demo();
    let (few, few_on_sheet) = sizes_with_machines(&sources, 3);
    let (many, many_on_sheet) = sizes_with_machines(&sources, 53);
    for (few, many) in [(few, many), (few_on_sheet, many_on_sheet)] {
        assert!(many < few + 5_000, "{few} bytes became {many}");
    }
    assert!(few < 10_000, "{few} bytes");
}

#[test]
fn a_sheet_of_up_to_a_hundred_steps_is_under_a_hundred_kilobytes() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let output = output(&sources, BTreeSet::new());
    let html = Html::new(&Look::default(), None, &output.edition.words).unwrap();
    let mut most_steps = 0;
    for rehearsed in &checked.jobs {
        let document = JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, &output);
        let steps = document.step_texts().count();
        if steps > 100 {
            continue;
        }
        most_steps = most_steps.max(steps);
        for kind in SheetKind::OF_JOB {
            let sheet = document.sheet(kind).unwrap();
            let nav = site::Nav::default();
            let paths = Paths::new(&output, None);
            let addresses = Html::addresses_of_sheet(paths, &sheet, &nav, &|_| true);
            // The navigation is not on this page.
            // The shapes of its drawings would otherwise be files of their own.
            let page = html.sheet(&sheet, &nav, &addresses).unwrap();
            let shapes = page.split_once("<svg class=\"shapes\"");
            let shapes = shapes.and_then(|(_, shapes)| shapes.split_once("</svg>"));
            let bytes = page.len() - shapes.map_or(0, |(shapes, _)| shapes.len()) + 10_000;
            assert!(bytes < 100_000, "{}: {bytes} bytes", sheet.page);
        }
    }
    assert!(most_steps > 90, "{most_steps} steps");
}

/// The front page of a shop with copies of a machine, of a procedure and of a fault table, and the page of its first
/// machine, which has all jobs.
fn pages_of_large_shop(
    sources: &Sources,
    (machine_count, procedure_count, fault_count): (usize, usize, usize),
) -> [usize; 2] {
    let checked = crate::check_all(sources);
    let rehearsed = find(&checked, "governor-linkage", "tarn-yarrow");
    let machines = machines(rehearsed.job.machine, machine_count);
    let procedures = procedures(rehearsed.job.procedure, procedure_count, 200);
    let jobs: Vec<Summary<'_>> = procedures
        .iter()
        .map(|procedure| Summary {
            machine: &machines[0],
            procedure,
            ..Summary::of(&rehearsed.job)
        })
        .collect();
    let faults = procedures_of_faults(sources, fault_count);
    let tables: Vec<MachineFaultTable<'_>> = faults
        .iter()
        .map(|fault| MachineFaultTable {
            fault,
            machine: &machines[0],
        })
        .collect();
    let mut shop = crate::read(&Disk::open(&root().join("procedures")).unwrap()).shop;
    shop.machines = Records::default();
    for machine in &machines {
        shop.machines.add(machine.id.clone(), |_| machine.clone());
    }
    let mut pages = BTreeSet::from([PageId::Front]);
    pages.extend(ListKind::ALL.map(PageId::List));
    for machine in &machines {
        pages.insert(PageId::Machine(machine.id.clone()));
        let sheets = SheetKind::OF_MACHINE.into_iter();
        pages.extend(sheets.map(|kind| PageId::MachineSheet(kind, machine.id.clone())));
    }
    for job in &jobs {
        let id = JobId::new(&job.machine.id, &job.procedure.id);
        pages.extend(SheetKind::OF_JOB.map(|kind| PageId::JobSheet(kind, id.clone())));
        pages.insert(PageId::System(job.procedure.system.clone()));
        if jobs.len() > MAX_JOBS_LISTED {
            pages.insert(PageId::MachineSystem {
                machine: id.machine,
                system: job.procedure.system.clone(),
            });
        }
    }
    pages.extend(tables.iter().map(|table| {
        let fault = JobId::new(&table.machine.id, &table.fault.id);
        PageId::JobSheet(SheetKind::FaultTable, fault)
    }));
    let output = output(sources, pages);
    let site = Site {
        shop: &shop,
        jobs: &jobs,
        faults: &tables,
        output: &output,
    };
    let order = site.procedures();
    let front = site::front(&site, &order);
    let machine = site::machine(&site, &order, &machines[0]).unwrap();
    [bytes(&front, &output), bytes(&machine, &output)]
}

fn procedures_of_faults(sources: &Sources, count: usize) -> Vec<Procedure> {
    let table = sources.faults.first().expect("the demonstration has some");
    procedures(table, count, 1)
}

#[test]
fn the_front_page_and_a_machine_page_are_short_at_any_size() {
    let sources = demo();
    // The most jobs that a machine's page lists, and more jobs, systems, machines and symptoms than any shop has.
    for (counts, least) in [
        ((2, MAX_JOBS_LISTED, 30), 20_000),
        ((1_000, 10_000, 300), 20_000),
    ] {
        for bytes in pages_of_large_shop(&sources, counts) {
            assert!(bytes < MAX_BYTES, "{counts:?}: {bytes} bytes");
            assert!(bytes > least / 2, "{counts:?}: {bytes} bytes");
        }
    }
}

/// The reference of the rules is the same in every shop. Every device stores it with the rest of the site.
#[test]
fn the_reference_of_the_rules_is_small() {
    let sources = demo();
    let families = Family::ALL.map(PageId::RuleFamily);
    let pages = families.into_iter().chain([PageId::Front, PageId::Rules]);
    let output = output(&sources, pages.collect());
    let site = Site {
        shop: &sources.shop,
        jobs: &[],
        faults: &[],
        output: &output,
    };
    let sizes = site::rules(&site)
        .into_iter()
        .map(|page| bytes(&page, &output));
    let sizes: Vec<usize> = sizes.collect();
    assert_eq!(sizes.len(), 7);
    assert!(sizes.iter().all(|size| *size < MAX_BYTES), "{sizes:?}");
    assert!(sizes.iter().sum::<usize>() < 300_000, "{sizes:?}");
}
