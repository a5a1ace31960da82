//! `benchleaf check`

use super::console::{print, print_error};
use super::exit::{CliError, ExitStatus};
use super::progress::Bar;
use super::shared::{TreeArguments, counted, show};
use crate::finding::Level;
use crate::publish::Progress as _;
use crate::report;
use clap::Args;

/// Check all sources and rehearse every job
///
/// Rehearses each procedure on each machine it is for, and reports every problem with its line and
/// how to fix it. Writes no files.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf check                          the sources in `procedures`
  benchleaf check my-shop --deny warning   for a review: count warnings as errors")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    /// Show all findings, however many there are
    #[arg(long)]
    all: bool,

    /// Print how long each stage took
    #[arg(long)]
    timings: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let bar = Bar::new();
    bar.begin_stage("reading");
    let sources = arguments.tree.read()?;
    bar.begin_stage("checking");
    let checked = arguments.tree.check_jobs(&sources, |_| None::<()>);
    if arguments.all {
        print_error(&report::terminal(&sources.tree, &checked.findings, true));
    } else {
        show(&sources, &checked.findings);
    }
    if arguments.timings {
        print(&bar.table());
    }
    if checked.findings.count(Level::Error) > 0 {
        return Ok(ExitStatus::SourceErrors);
    }
    let result = if checked.findings.is_empty() {
        "clean"
    } else {
        "no errors"
    };
    print(&format!(
        "{result}: {} on {}, {} rehearsed\n",
        counted(sources.procedures.len(), "procedure", "procedures"),
        counted(sources.shop.machines.len(), "machine", "machines"),
        counted(checked.rehearsed, "job", "jobs"),
    ));
    // The process ends now, and freeing a large tree would only delay its exit.
    std::mem::forget(sources);
    Ok(ExitStatus::Success)
}
