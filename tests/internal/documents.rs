//! What pages say is data without a medium: no path, file name, address or language prefix is in it,
//! and every link of it leads to a place in each medium that shows it.

use super::support::root;
use crate::page::{
    Edition, JobId, LinkTarget, ListKind, OutputContext, PageId, Sheet, SheetKind, visit_links,
};
use crate::publish::manual::{Scope, manual_of};
use crate::render::{Addresses, Html, Paths};
use crate::sheet::{self, JobDocument, Summary};
use crate::site::{self, MachineFaultTable, Nav, Site, SitePage, SitePart};
use crate::tree::Disk;
use crate::{CheckedJobs, Rehearsed, Sources};
use std::collections::{BTreeMap, BTreeSet};

fn demo() -> Sources {
    crate::read(&Disk::open(&root().join("procedures")).unwrap())
}

/// Every page that a whole output has.
fn made(sources: &Sources, checked: &CheckedJobs<'_, Rehearsed<'_>>) -> BTreeSet<PageId> {
    let mut made = BTreeSet::from([PageId::Front, PageId::WhereUsed]);
    made.extend(ListKind::ALL.map(PageId::List));
    for machine in sources.shop.machines.keys() {
        made.insert(PageId::Machine(machine.to_string()));
        let sheets = SheetKind::OF_MACHINE.into_iter();
        made.extend(sheets.map(|kind| PageId::MachineSheet(kind, machine.to_string())));
    }
    for one in &checked.jobs {
        let job = JobId::new(&one.job.machine.id, &one.job.procedure.id);
        made.insert(PageId::Procedure(job.procedure.clone()));
        made.extend(SheetKind::OF_JOB.map(|kind| PageId::JobSheet(kind, job.clone())));
    }
    made.extend(checked.faults.iter().map(|one| {
        let fault = JobId::new(&one.job.machine.id, &one.job.procedure.id);
        PageId::JobSheet(SheetKind::FaultTable, fault)
    }));
    made
}

/// Every sheet of the demonstration, and every page that leads to them.
fn documents(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
    output: &OutputContext,
) -> (Vec<Sheet>, Vec<SitePage>) {
    let summaries: Vec<Summary<'_>> = checked
        .jobs
        .iter()
        .map(|one| Summary::of(&one.job))
        .collect();
    let documents: BTreeMap<JobId, JobDocument<'_, '_>> = checked
        .jobs
        .iter()
        .map(|one| {
            let job = JobId::new(&one.job.machine.id, &one.job.procedure.id);
            (job, JobDocument::new(&one.job, &one.rehearsal, output))
        })
        .collect();
    let mut sheets: Vec<Sheet> = documents
        .values()
        .flat_map(|document| SheetKind::OF_JOB.map(|kind| document.sheet(kind).unwrap()))
        .collect();
    let tables = checked.faults.iter();
    sheets.extend(tables.map(|one| sheet::fault_sheet(&one.job, &one.rehearsal, output)));
    let all: Vec<&Summary<'_>> = summaries.iter().collect();
    for machine in sources.shop.machines.values() {
        let own: Vec<&Summary<'_>> = all
            .iter()
            .copied()
            .filter(|summary| summary.machine.id == machine.id)
            .collect();
        let kinds = SheetKind::OF_MACHINE.into_iter();
        sheets.extend(
            kinds.filter_map(|kind| {
                sheet::machine_sheet(kind, &sources.shop, machine, &own, output)
            }),
        );
    }
    sheets.extend(sheet::where_used(&sources.shop, &all, output));

    let faults: Vec<MachineFaultTable<'_>> = checked
        .faults
        .iter()
        .map(|one| MachineFaultTable {
            fault: one.job.procedure,
            machine: one.job.machine,
        })
        .collect();
    let site = Site {
        shop: &sources.shop,
        jobs: &summaries,
        faults: &faults,
        output,
    };
    let order = site.procedures();
    let mut pages = vec![site::front(&site)];
    for (at, jobs) in order.iter().enumerate() {
        let own: Vec<&JobDocument<'_, '_>> = jobs
            .iter()
            .map(|job| &documents[&JobId::new(&job.machine.id, &job.procedure.id)])
            .collect();
        pages.push(site::procedure(&site, &order, at, &own));
    }
    let machines = sources.shop.machines.values();
    pages.extend(machines.filter_map(|machine| site::machine(&site, machine)));
    pages.extend(site::cautions(&site));
    pages.extend(site::tools(&site));
    pages.extend(site::supplies(&site));
    pages.extend(site::glossary(&site));
    (sheets, pages)
}

#[test]
fn no_document_has_a_path_an_address_or_a_language_prefix() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, made(&sources, &checked));
    let (sheets, pages) = documents(&sources, &checked, &output);
    let manual = manual_of(&sources, &checked, &Scope::default(), &output).unwrap();
    let mut texts: Vec<String> = sheets
        .iter()
        .map(|sheet| serde_json::to_string(sheet).unwrap())
        .collect();
    texts.extend(
        pages
            .iter()
            .map(|page| serde_json::to_string(page).unwrap()),
    );
    texts.push(serde_json::to_string(&manual).unwrap());
    assert!(texts.len() > 200, "{} documents", texts.len());
    // The names that output files have: of sheets, of figures with their content, of pages.
    let base = sources.shop.address.as_deref();
    let paths = Paths::new(&output, base);
    let own: Vec<String> = output
        .pages()
        .iter()
        .filter(|page| matches!(page, PageId::JobSheet(..) | PageId::Procedure(_)))
        .map(|page| format!("\"{}\"", paths.path(page)))
        .collect();
    for text in &texts {
        for banned in ["../", ".html", ".pdf", "\"es/"] {
            assert!(!text.contains(banned), "`{banned}` in {}", &text[..120]);
        }
        if let Some(base) = base {
            assert!(!text.contains(base), "{base} in {}", &text[..120]);
        }
        let path = own.iter().find(|path| text.contains(path.as_str()));
        assert!(path.is_none(), "{path:?} in {}", &text[..120]);
    }
}

/// The targets without an address on a page.
fn text_only(addresses: &Addresses) -> Vec<&str> {
    let links = addresses.links.iter();
    let lost = links.filter(|(_, address)| address.is_empty());
    lost.map(|(target, _)| target.as_str()).collect()
}

#[test]
fn every_link_leads_to_a_place_in_each_medium() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, made(&sources, &checked));
    let (sheets, pages) = documents(&sources, &checked, &output);
    let paths = Paths::new(&output, None);
    let mut linked = 0;
    for sheet in &sheets {
        let addresses = Html::addresses_of_sheet(paths, sheet, &Nav::default(), &|_| true);
        assert_eq!(text_only(&addresses), [] as [&str; 0], "{}", sheet.page);
        linked += addresses.links.len();
    }
    for page in &pages {
        let addresses = Html::addresses_of_page(paths, page, &|_| true);
        let lost = text_only(&addresses);
        // The manual has no page in HTML.
        let lost: Vec<&str> = lost.into_iter().filter(|name| *name != "manual").collect();
        assert_eq!(lost, [] as [&str; 0], "{}", page.head.page);
        linked += addresses.links.len();
    }
    assert!(linked > 1000, "{linked} links");

    let manual = manual_of(&sources, &checked, &Scope::default(), &output).unwrap();
    let places = manual.places();
    let mut in_manual = 0;
    let pieces = manual.chapters.iter().flat_map(|chapter| &chapter.pieces);
    for piece in pieces {
        if let crate::manual::ManualPiece::Blocks { blocks, .. } = piece {
            visit_links(blocks, |target| {
                let is_web = matches!(target, LinkTarget::Web(_));
                assert!(is_web || places.contains(target), "{target}");
                in_manual += 1;
            });
        }
    }
    assert!(in_manual > 100, "{in_manual} links");
}

/// The procedure's page shows the steps of the shop sheet: they are views of one document.
#[test]
fn a_procedures_page_has_the_steps_of_the_shop_sheet() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, made(&sources, &checked));
    let (sheets, pages) = documents(&sources, &checked, &output);
    let steps = |blocks: &[crate::page::Block]| {
        let mut texts = Vec::new();
        gather(blocks, &mut texts);
        texts
    };
    let mut compared = 0;
    for page in &pages {
        let PageId::Procedure(procedure) = &page.head.page else {
            continue;
        };
        for part in &page.parts {
            let SitePart::OnMachine {
                machine, blocks, ..
            } = part
            else {
                continue;
            };
            let job = JobId::new(machine, procedure);
            let id = PageId::JobSheet(SheetKind::ShopSheet, job);
            let sheet = sheets.iter().find(|sheet| sheet.page == id).unwrap();
            assert_eq!(steps(blocks), steps(&sheet.blocks), "{id}");
            compared += 1;
        }
    }
    assert_eq!(compared, checked.jobs.len());
}

fn gather(blocks: &[crate::page::Block], texts: &mut Vec<(u32, String)>) {
    use crate::page::Block;
    for block in blocks {
        match block {
            Block::Section(section) => gather(&section.blocks, texts),
            Block::Steps { steps } => texts.extend(steps.iter().map(|step| {
                let text = serde_json::to_string(&step.content.text).unwrap();
                (step.number, text)
            })),
            _ => {}
        }
    }
}
