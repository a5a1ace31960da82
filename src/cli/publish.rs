//! `benchleaf publish`

use super::console::print;
use super::exit::{CliError, ExitStatus};
use super::progress::Bar;
use super::shared::{MakeRequest, OutputArguments, TreeArguments, make};
use crate::publish::{MOST_JOBS_BOUND, Progress as _, Selection, publish, summarizer};
use clap::Args;
use std::collections::BTreeSet;

/// Make every sheet of every job, and the shop's manual
///
/// Checks all sources first. If there are errors, nothing is made, and the existing output is not
/// changed. Files that are up to date are not written again.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf publish                            from `procedures` into `output`
  benchleaf publish my-shop --output /srv/shop
  benchleaf publish --html-only                without PDFs")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    #[command(flatten)]
    output: OutputArguments,

    /// Print how long each stage took
    #[arg(long)]
    timings: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let bar = Bar::new();
    bar.begin_stage("reading");
    let sources = arguments.tree.read()?;
    let look = arguments.output.look(&arguments.tree)?;
    bar.begin_stage("checking");
    let checked = arguments
        .tree
        .check_jobs(&sources, summarizer(&sources, &look));
    let selection = Selection::default();
    let request = MakeRequest {
        selection: &selection,
        files: BTreeSet::new(),
        output: &arguments.output,
        look: &look,
        bar: &bar,
    };
    let (status, published) = make(&sources, &checked, request, |outlet| {
        publish(&sources, &checked, &selection, outlet)
    })?;
    if published.is_some() {
        let front = arguments.output.path("index.html");
        print(&format!("open {}\n", front.display()));
    }
    let jobs = checked.jobs.len();
    if published.is_some() && jobs > MOST_JOBS_BOUND {
        print(&format!(
            "no manual of the whole shop was made: {jobs} jobs are too many for one PDF; \
             `benchleaf bind --machine ID` makes the manual of one machine\n"
        ));
    }
    if arguments.timings {
        print(&bar.table());
    }
    Ok(status)
}
