//! Which pages are made, before any is.

use super::Selection;
use crate::job::Job;
use crate::page::{self, Edition, LISTS, LeafKind, Setting, machine_page_path, procedure_path};
use crate::sheet::{self, Summary};
use crate::{Rehearsed, Sources};
use std::collections::BTreeSet;

/// Every page that is made, by its path in the first edition, without an ending.
pub(super) fn paths(
    sources: &Sources,
    jobs: &[Summary<'_>],
    faults: &[&Rehearsed<'_>],
    selection: &Selection,
) -> BTreeSet<String> {
    let kinds = selection.kinds();
    let of_job = |kind: &&LeafKind| LeafKind::OF_JOB.contains(kind);
    let mut paths: BTreeSet<String> = jobs
        .iter()
        .flat_map(|job| {
            let kinds = kinds.iter().filter(of_job);
            kinds.map(|kind| page::path(&job.machine.id, &job.procedure.id, *kind))
        })
        .collect();
    if kinds.contains(&LeafKind::FaultTable) {
        paths.extend(faults.iter().map(|one| fault_path(one)));
    }
    // What is drawn from all procedures of a machine is made when all of them are asked for.
    if !selection.procedures.is_empty() {
        return paths;
    }
    let of_jobs = jobs.iter().map(|job| job.machine.id.as_str());
    let of_faults = faults.iter().map(|one| one.job.machine.id.as_str());
    let machines: BTreeSet<&str> = of_jobs.chain(of_faults).collect();
    // Which of them have anything on them does not hang on what else is made.
    let edition = Edition::first(&sources.shop);
    let setting = Setting::new(&sources.tree, &edition, &[], BTreeSet::new());
    for machine in sources.shop.machines.values() {
        let own = jobs.iter().filter(|job| job.machine.id == machine.id);
        let own: Vec<&Summary<'_>> = own.collect();
        let of_machine = LeafKind::OF_MACHINE.into_iter();
        let made = of_machine.filter(|kind| {
            let leaf = || sheet::of_machine(*kind, &sources.shop, machine, &own, &setting);
            kinds.contains(kind) && !own.is_empty() && leaf().is_some()
        });
        paths.extend(made.map(|kind| page::machine_path(&machine.id, kind)));
    }
    let is_any_used = jobs.iter().any(Summary::uses_any);
    if is_any_used && selection.machines.is_empty() && kinds.contains(&LeafKind::WhereUsed) {
        paths.insert(LeafKind::WhereUsed.slug().to_owned());
    }
    if selection.is_whole() {
        paths.insert("index".to_owned());
        paths.extend(machines.iter().map(|machine| machine_page_path(machine)));
        paths.extend(jobs.iter().map(|job| procedure_path(&job.procedure.id)));
        let shop = &sources.shop;
        let is_empty = |list: &str| match list {
            "cautions" => shop.cautions.is_empty(),
            "tools" => shop.tools.is_empty(),
            "supplies" => shop.supplies.is_empty(),
            _ => false,
        };
        let lists = LISTS.into_iter().filter(|(list, _)| !is_empty(list));
        paths.extend(lists.map(|(list, _)| list.to_owned()));
    }
    paths
}

pub(super) fn fault_path(fault: &Rehearsed<'_>) -> String {
    let Job {
        machine, procedure, ..
    } = &fault.job;
    page::path(&machine.id, &procedure.id, LeafKind::FaultTable)
}

/// The figures that stand on any leaf, by their paths in the tree.
pub(super) fn figures<'r>(
    jobs: &'r [Summary<'_>],
    faults: &[&'r Rehearsed<'_>],
    selection: &Selection,
) -> BTreeSet<&'r str> {
    let kinds = selection.kinds();
    let mut used = BTreeSet::new();
    if kinds.contains(&LeafKind::ShopSheet) {
        used.extend(jobs.iter().flat_map(|job| job.figures.iter().copied()));
    }
    if kinds.contains(&LeafKind::FaultTable) {
        let figures = faults.iter().flat_map(|one| one.job.figures.values());
        used.extend(figures.copied());
    }
    used
}
