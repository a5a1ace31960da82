//! `benchleaf check`

use super::console::{is_quiet, print, print_error, print_summary};
use super::exit::{CliError, ExitStatus};
use super::fix::{self, FixArguments};
use super::progress::Bar;
use super::reports::{ReportArguments, Subject};
use super::shared::{TreeArguments, counted};
use super::since::SinceArguments;
use crate::publish::Progress as _;
use clap::Args;

/// Check all sources and rehearse every job
///
/// Rehearses each procedure on each machine it is for, and reports every problem with its line and
/// how to fix it. Writes no files, unless it is told to.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf check                          the sources in `procedures`
  benchleaf check my-shop --deny warning   for a review: count warnings as errors
  benchleaf check --since main             only what this branch introduces
  benchleaf check --fix                    show safe corrections, as a diff
  benchleaf check --format github --report sarif=findings.sarif")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    #[command(flatten)]
    reports: ReportArguments,

    #[command(flatten)]
    since: SinceArguments,

    #[command(flatten)]
    fix: FixArguments,

    /// Print how long each stage took
    #[arg(long)]
    timings: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    if arguments.fix.is_on() {
        return fix::run(&arguments.tree, &arguments.fix);
    }
    let bar = Bar::new();
    bar.begin_stage("reading");
    let world = arguments.tree.open()?;
    let sources = crate::read(&world);
    bar.begin_stage("checking");
    let checked = arguments.since.check(&arguments.tree, &sources)?;
    bar.begin_stage("reporting");
    let subject = Subject {
        sources: &sources,
        folder: arguments.tree.folder(),
        findings: &checked.findings,
        jobs: &checked.jobs,
        notes: &checked.notes,
        affected: checked.affected.as_deref(),
    };
    arguments.reports.write(&subject)?;
    if arguments.timings {
        print(&bar.table());
    }
    let is_text = arguments.reports.is_text();
    let status = ExitStatus::of(&checked.findings);
    if status == ExitStatus::Success {
        let result = match checked.findings.is_empty() {
            true if checked.notes.is_empty() => "clean",
            true => "nothing new",
            false => "no errors",
        };
        let line = format!(
            "{result}: {} on {}, {} rehearsed\n",
            counted(sources.procedures.len(), "procedure", "procedures"),
            counted(sources.shop.machines.len(), "machine", "machines"),
            counted(checked.jobs.len(), "job", "jobs"),
        );
        // Standard output has only the report, for the program that reads it.
        if is_text {
            print_summary(&line);
        } else if !is_quiet() {
            print_error(&line);
        }
    }
    // The process ends now, and freeing a large tree would only delay its exit.
    std::mem::forget(sources);
    Ok(status)
}
