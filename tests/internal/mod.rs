//! Tests that need crate-private items: documents as data, rehearsals, the publisher and the preview.
//! They are compiled as unit tests of the crate (see `src/lib.rs`).
#![allow(clippy::unwrap_used, reason = "a failed set-up fails the test")]

mod callouts;
mod careless;
mod case;
mod cause_cases;
mod chapters;
mod container_cases;
mod count_cases;
mod demo;
mod dimension_cases;
mod documents;
mod drawings;
mod due_cases;
mod edits;
mod electrical_cases;
mod faults;
mod guards;
mod habit_cases;
mod hard_cases;
mod incremental;
mod inspection_cases;
mod invisible;
mod links;
mod manual;
mod mutants;
mod notes;
mod order_cases;
mod outcomes;
mod outline;
mod page_sizes;
mod pairs;
mod position_cases;
mod positions;
mod preview;
mod quiet_cases;
mod recheck;
mod record_cases;
mod rehearsal;
mod repair_kits;
mod set_up;
mod settings;
mod sheets;
mod spoilt;
mod step_keys;
mod supply_cases;
#[path = "../support/mod.rs"]
mod support;
mod value_mutants;
mod variants;
mod wait_cases;
mod way_back;

use crate::page::{Edition, OutputContext, SheetKind, TextRun};
use crate::publish::Progress;
use crate::sheet;
use crate::tree::Memory;
use std::collections::BTreeSet;

/// The shop sheet and the bench checklist of a procedure, as JSON.
pub(crate) fn sheets(world: &Memory, procedure: &str) -> Vec<String> {
    let sources = crate::read(world);
    let checked = crate::check_all(&sources);
    let mut jobs = checked.jobs.iter();
    let rehearsed = jobs
        .find(|rehearsed| rehearsed.job.procedure.id == procedure)
        .expect("the procedure has a job");
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    [SheetKind::ShopSheet, SheetKind::BenchChecklist]
        .map(|kind| {
            sheet::sheet_of_kind(kind, &rehearsed.job, &rehearsed.rehearsal, &output).unwrap()
        })
        .map(|sheet| serde_json::to_string(&sheet).unwrap())
        .to_vec()
}

/// Shows no progress.
struct Quiet;

impl Progress for Quiet {
    fn set_total(&self, _: usize) {}
    fn page_done(&self) {}
}

/// The text of some runs, with `line_break` in the place of line breaks.
fn plain(runs: &[TextRun], line_break: &str) -> String {
    let texts = runs.iter().map(|run| match run {
        TextRun::Text { text } | TextRun::Code { text } => text.clone(),
        TextRun::PageNumber { .. } => String::new(),
        TextRun::Strong { runs } | TextRun::Emphasis { runs } | TextRun::Foreign { runs, .. } => {
            plain(runs, line_break)
        }
        TextRun::Link { runs, name, .. } => {
            let name = name.as_ref().map(|name| format!(" ({name})"));
            plain(runs, line_break) + &name.unwrap_or_default()
        }
        TextRun::Callout { number, .. } => format!("\u{a0}({number})"),
        TextRun::Break => line_break.to_owned(),
    });
    texts.collect()
}
