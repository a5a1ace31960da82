//! Decides which pages a run makes. This comes before any page is made, because a page links only to
//! pages that the run makes.

use super::Selection;
use crate::finding::Family;
use crate::job::Job;
use crate::page::{Edition, JobId, ListKind, OutputContext, PageId, SheetKind};
use crate::sheet::{self, Summary};
use crate::shop::Shop;
use crate::site::MAX_JOBS_LISTED;
use crate::{Rehearsed, Sources};
use std::collections::{BTreeMap, BTreeSet};

/// Every page that the run makes.
pub(super) fn pages(
    sources: &Sources,
    jobs: &[Summary<'_>],
    faults: &[&Rehearsed<'_>],
    selection: &Selection,
) -> BTreeSet<PageId> {
    let kinds = selection.kinds();
    let is_of_job = |kind: &&SheetKind| SheetKind::OF_JOB.contains(kind);
    let mut pages: BTreeSet<PageId> = jobs
        .iter()
        .flat_map(|job| {
            let kinds = kinds.iter().filter(is_of_job);
            kinds.map(|kind| PageId::JobSheet(*kind, summary_id(job)))
        })
        .collect();
    if kinds.contains(&SheetKind::FaultTable) {
        pages.extend(faults.iter().map(|fault| fault_page(fault)));
    }
    // A sheet about all procedures of a machine is made only when all of them are selected.
    if !selection.procedures.is_empty() {
        return pages;
    }
    let of_jobs = jobs.iter().map(|job| job.machine.id.as_str());
    let of_faults = faults.iter().map(|fault| fault.job.machine.id.as_str());
    let machines: BTreeSet<&str> = of_jobs.chain(of_faults).collect();
    // Whether a sheet has any content does not depend on which other pages are made.
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    for machine in sources.shop.machines.values() {
        let on_machine = jobs.iter().filter(|job| job.machine.id == machine.id);
        let on_machine: Vec<&Summary<'_>> = on_machine.collect();
        let kinds_made = SheetKind::OF_MACHINE.into_iter().filter(|kind| {
            let sheet =
                || sheet::machine_sheet(*kind, &sources.shop, machine, &on_machine, &output);
            kinds.contains(kind) && !on_machine.is_empty() && sheet().is_some()
        });
        pages.extend(kinds_made.map(|kind| PageId::MachineSheet(kind, machine.id.clone())));
    }
    let is_any_used = jobs.iter().any(Summary::uses_any);
    if is_any_used && selection.machines.is_empty() && kinds.contains(&SheetKind::WhereUsed) {
        pages.insert(PageId::WhereUsed);
    }
    if selection.is_whole() {
        pages.insert(PageId::Front);
        pages.extend(rules());
        pages.extend(machines.iter().map(|id| PageId::Machine((*id).to_owned())));
        pages.extend(
            jobs.iter()
                .map(|job| PageId::System(job.procedure.system.clone())),
        );
        pages.extend(details_of_machines(&sources.shop, jobs, &machines));
        // Jobs are in order of procedure.
        pages.extend(
            jobs.windows(2)
                .filter(|pair| pair[0].procedure.id == pair[1].procedure.id)
                .map(|pair| PageId::Procedure(pair[0].procedure.id.clone())),
        );
        let shop = &sources.shop;
        let is_empty = |list: &ListKind| match list {
            ListKind::Machines => machines.is_empty(),
            ListKind::Symptoms => faults.is_empty(),
            ListKind::Cautions => shop.cautions.is_empty(),
            ListKind::Tools => shop.tools.is_empty(),
            ListKind::Supplies => shop.supplies.is_empty(),
            ListKind::PartNumbers => !shop
                .machines
                .values()
                .flat_map(|machine| machine.parts.values())
                .any(|part| part.number.is_some()),
            ListKind::Glossary => false,
        };
        let lists = ListKind::ALL.into_iter().filter(|list| !is_empty(list));
        pages.extend(lists.map(PageId::List));
    }
    pages
}

/// The pages of the rules.
pub(super) fn rules() -> impl Iterator<Item = PageId> {
    let of_families: BTreeSet<Family> =
        crate::rules::all().iter().map(|rule| rule.family).collect();
    let of_families = of_families.into_iter().map(PageId::RuleFamily);
    std::iter::once(PageId::Rules).chain(of_families)
}

/// The pages of machines with what is too long for their own page.
fn details_of_machines(
    shop: &Shop,
    jobs: &[Summary<'_>],
    machines: &BTreeSet<&str>,
) -> BTreeSet<PageId> {
    let of_shop = shop.machines.values();
    let of_shop = of_shop.filter(|machine| machines.contains(machine.id.as_str()));
    let with_parts =
        of_shop.filter(|machine| !machine.parts.is_empty() || !machine.readings.is_empty());
    let with_parts = with_parts.map(|machine| PageId::MachineParts(machine.id.clone()));
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for job in jobs {
        *counts.entry(&job.machine.id).or_default() += 1;
    }
    let has_many =
        |job: &&Summary<'_>| counts.get(job.machine.id.as_str()) > Some(&MAX_JOBS_LISTED);
    let systems = jobs
        .iter()
        .filter(has_many)
        .map(|job| PageId::MachineSystem {
            machine: job.machine.id.clone(),
            system: job.procedure.system.clone(),
        });
    with_parts.chain(systems).collect()
}

pub(super) fn summary_id(job: &Summary<'_>) -> JobId {
    JobId::new(&job.machine.id, &job.procedure.id)
}

pub(super) fn fault_page(fault: &Rehearsed<'_>) -> PageId {
    let Job {
        machine, procedure, ..
    } = &fault.job;
    PageId::JobSheet(
        SheetKind::FaultTable,
        JobId::new(&machine.id, &procedure.id),
    )
}

/// The paths in the tree of all figures on the selected sheets, and of the machines' pictures if all pages
/// are selected.
pub(super) fn figures<'r>(
    sources: &'r Sources,
    jobs: &'r [Summary<'_>],
    faults: &[&'r Rehearsed<'_>],
    selection: &Selection,
) -> BTreeSet<&'r str> {
    let kinds = selection.kinds();
    let mut used = BTreeSet::new();
    if kinds.contains(&SheetKind::ShopSheet) || kinds.contains(&SheetKind::BenchChecklist) {
        used.extend(jobs.iter().flat_map(|job| job.figures.iter().copied()));
    }
    if kinds.contains(&SheetKind::FaultTable) {
        let figures = faults.iter().flat_map(|fault| fault.job.figures.values());
        used.extend(figures.copied());
    }
    if selection.is_whole() {
        let machines = sources.shop.machines.values();
        let pictures = machines.flat_map(|machine| machine.picture.iter().chain(&machine.wiring));
        used.extend(pictures.map(|picture| picture.value.as_str()));
    }
    used
}
