//! Tests of what only the crate itself can see: documents as data, rehearsals, runs of the publisher
//! and of the preview. They are part of the crate's unit tests (`src/lib.rs`).
#![allow(clippy::unwrap_used, reason = "a test that can't set up has failed")]

mod demo;
mod documents;
mod faults;
mod hard_cases;
mod incremental;
mod manual;
mod mutants;
mod preview;
mod rehearsal;
mod sheets;
mod spoilt;
#[path = "../support/mod.rs"]
mod support;
mod way_back;

use crate::page::{Edition, OutputContext, SheetKind};
use crate::publish::Progress;
use crate::sheet;
use crate::tree::Memory;
use std::collections::BTreeSet;

/// The sheets of a procedure that have its steps, as data.
pub(crate) fn sheets(world: &Memory, procedure: &str) -> Vec<String> {
    let sources = crate::read(world);
    let checked = crate::check_all(&sources);
    let mut jobs = checked.jobs.iter();
    let one = jobs
        .find(|one| one.job.procedure.id == procedure)
        .expect("there is such a job");
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    [SheetKind::ShopSheet, SheetKind::BenchChecklist]
        .map(|kind| sheet::sheet_of_kind(kind, &one.job, &one.rehearsal, &output).unwrap())
        .map(|sheet| serde_json::to_string(&sheet).unwrap())
        .to_vec()
}

/// Shows no progress.
struct Quiet;

impl Progress for Quiet {
    fn set_total(&self, _: usize) {}
    fn page_done(&self) {}
}
