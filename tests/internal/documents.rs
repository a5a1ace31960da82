//! Sheets, site pages and the manual as data do not depend on the medium: they contain no output path, file
//! name, address or language prefix, and every link target in them resolves in HTML and in the manual.

use super::support::root;
use crate::finding::Family;
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

/// The ids of the pages that a full run generates.
fn generated_pages(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
) -> BTreeSet<PageId> {
    let mut pages = BTreeSet::from([PageId::Front, PageId::WhereUsed]);
    pages.extend(ListKind::ALL.map(PageId::List));
    pages.insert(PageId::Rules);
    pages.extend(Family::ALL.map(PageId::RuleFamily));
    for machine in sources.shop.machines.keys() {
        pages.insert(PageId::Machine(machine.to_string()));
        pages.insert(PageId::MachineParts(machine.to_string()));
        let sheets = SheetKind::OF_MACHINE.into_iter();
        pages.extend(sheets.map(|kind| PageId::MachineSheet(kind, machine.to_string())));
    }
    for rehearsed in &checked.jobs {
        let job = JobId::new(&rehearsed.job.machine.id, &rehearsed.job.procedure.id);
        pages.insert(PageId::System(rehearsed.job.procedure.system.clone()));
        if rehearsed.job.procedure.machines.len() > 1 {
            pages.insert(PageId::Procedure(job.procedure.clone()));
        }
        pages.extend(SheetKind::OF_JOB.map(|kind| PageId::JobSheet(kind, job.clone())));
    }
    pages.extend(checked.faults.iter().map(|rehearsed| {
        let fault = JobId::new(&rehearsed.job.machine.id, &rehearsed.job.procedure.id);
        PageId::JobSheet(SheetKind::FaultTable, fault)
    }));
    pages
}

/// All sheets and site pages.
fn documents(
    sources: &Sources,
    checked: &CheckedJobs<'_, Rehearsed<'_>>,
    output: &OutputContext,
) -> (Vec<Sheet>, Vec<SitePage>) {
    let summaries: Vec<Summary<'_>> = checked
        .jobs
        .iter()
        .map(|rehearsed| Summary::of(&rehearsed.job))
        .collect();
    let documents: BTreeMap<JobId, JobDocument<'_, '_>> = checked
        .jobs
        .iter()
        .map(|rehearsed| {
            let job = JobId::new(&rehearsed.job.machine.id, &rehearsed.job.procedure.id);
            (
                job,
                JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, output),
            )
        })
        .collect();
    let mut sheets: Vec<Sheet> = documents
        .values()
        .flat_map(|document| SheetKind::OF_JOB.map(|kind| document.sheet(kind).unwrap()))
        .collect();
    let tables = checked.faults.iter();
    sheets.extend(
        tables.map(|rehearsed| sheet::fault_sheet(&rehearsed.job, &rehearsed.rehearsal, output)),
    );
    let summary_refs: Vec<&Summary<'_>> = summaries.iter().collect();
    for machine in sources.shop.machines.values() {
        let own: Vec<&Summary<'_>> = summary_refs
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
    sheets.extend(sheet::where_used(&sources.shop, &summary_refs, output));

    let faults: Vec<MachineFaultTable<'_>> = checked
        .faults
        .iter()
        .map(|rehearsed| MachineFaultTable {
            fault: rehearsed.job.procedure,
            machine: rehearsed.job.machine,
        })
        .collect();
    let site = Site {
        shop: &sources.shop,
        jobs: &summaries,
        faults: &faults,
        output,
    };
    let order = site.procedures();
    let mut pages = vec![site::front(&site, &order)];
    pages.extend(order.procedures.iter().filter_map(|jobs| {
        let first = JobId::new(&jobs[0].machine.id, &jobs[0].procedure.id);
        site::procedure(&site, jobs, &documents[&first])
    }));
    let machines = sources.shop.machines.values();
    pages.extend(machines.flat_map(|machine| {
        let page = site::machine(&site, &order, machine);
        let details = site::machine_details(&site, &order, machine);
        page.into_iter().chain(details)
    }));
    pages.extend(site::systems_pages(&site));
    pages.extend(site::machines(&site, &order));
    pages.extend(site::symptoms(&site));
    pages.extend(site::cautions(&site));
    pages.extend(site::tools(&site));
    pages.extend(site::supplies(&site));
    pages.extend(site::glossary(&site));
    pages.extend(site::rules(&site));
    (sheets, pages)
}

#[test]
fn documents_contain_no_path_address_or_language_prefix() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, generated_pages(&sources, &checked));
    let (sheets, pages) = documents(&sources, &checked, &output);
    let manual = manual_of(&sources, &checked, &Scope::default(), &output).unwrap();
    let mut texts: Vec<String> = sheets
        .iter()
        .map(|sheet| serde_json::to_string(sheet).unwrap())
        .collect();
    // The examples of rules have paths of sources.
    let is_of_rules = |page: &&SitePage| matches!(page.head.page, PageId::RuleFamily(_));
    texts.extend(
        pages
            .iter()
            .filter(|page| !is_of_rules(page))
            .map(|page| serde_json::to_string(page).unwrap()),
    );
    texts.push(serde_json::to_string(&manual).unwrap());
    assert!(texts.len() > 200, "{} documents", texts.len());
    // The paths of sheets and pages in the output.
    let base = sources.shop.address.as_deref();
    let paths = Paths::new(&output, base);
    let own_paths: Vec<String> = output
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
        let path = own_paths.iter().find(|path| text.contains(path.as_str()));
        assert!(path.is_none(), "{path:?} in {}", &text[..120]);
    }
}

/// The link targets that have no address on a page.
fn unresolved_targets(addresses: &Addresses) -> Vec<&str> {
    let links = addresses.links.iter();
    let unresolved = links.filter(|(_, address)| address.is_empty());
    unresolved.map(|(target, _)| target.as_str()).collect()
}

#[test]
fn every_link_target_resolves_in_each_medium() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, generated_pages(&sources, &checked));
    let (sheets, pages) = documents(&sources, &checked, &output);
    let paths = Paths::new(&output, None);
    let mut linked = 0;
    for sheet in &sheets {
        let addresses = Html::addresses_of_sheet(paths, sheet, &Nav::default(), &|_| true);
        assert_eq!(
            unresolved_targets(&addresses),
            [] as [&str; 0],
            "{}",
            sheet.page
        );
        linked += addresses.links.len();
    }
    for page in &pages {
        let addresses = Html::addresses_of_page(paths, page, &|_| true);
        let unresolved = unresolved_targets(&addresses);
        // The manual has no page in HTML.
        let unresolved: Vec<&str> = unresolved
            .into_iter()
            .filter(|name| *name != "manual")
            .collect();
        assert_eq!(unresolved, [] as [&str; 0], "{}", page.head.page);
        linked += addresses.links.len();
    }
    assert!(linked > 1000, "{linked} links");

    let scope = Scope {
        rules_appendix: true,
        ..Scope::default()
    };
    let manual = manual_of(&sources, &checked, &scope, &output).unwrap();
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

/// A procedure of one machine has only its sheets.
#[test]
fn a_procedure_of_several_machines_has_a_page_that_leads_to_each() {
    let sources = demo();
    let checked = crate::check_all(&sources);
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, generated_pages(&sources, &checked));
    let (_, pages) = documents(&sources, &checked, &output);
    let mut led_to = BTreeSet::new();
    for page in &pages {
        let PageId::Procedure(_) = &page.head.page else {
            continue;
        };
        let links = page.parts.iter().flat_map(|part| match part {
            SitePart::Links { entries, .. } => entries.as_slice(),
            _ => &[],
        });
        led_to.extend(links.map(|entry| entry.link.target.to_string()));
    }
    let jobs = checked.jobs.iter().map(|rehearsed| &rehearsed.job);
    let of_several = jobs.filter(|job| job.procedure.machines.len() > 1);
    let of_several = of_several.map(|job| {
        let id = JobId::new(&job.machine.id, &job.procedure.id);
        LinkTarget::Job(id).to_string()
    });
    assert_eq!(led_to, of_several.collect());
    assert!(led_to.len() < checked.jobs.len());
}
