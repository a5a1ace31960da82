//! `benchleaf publish`

use super::console::{print, print_summary};
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
  benchleaf publish --html-only                without PDFs
  benchleaf publish --output /media/usb --verify    also repairs damaged pages")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    #[command(flatten)]
    output: OutputArguments,

    /// Read every file of the output, to find those that were changed or damaged; they are moved aside and made again
    #[arg(long)]
    verify: bool,

    /// Print the reference of the checking rules in the manual too, as an appendix
    // Not `--rules`: the site has the reference in any case.
    #[arg(long)]
    rules_appendix: bool,

    /// Print how long each stage took
    #[arg(long)]
    timings: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    arguments.output.run(|| make_once(arguments))
}

fn make_once(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let bar = Bar::new();
    bar.begin_stage("reading");
    let world = arguments.tree.open()?;
    let sources = crate::read(&world);
    let look = arguments.output.look(&arguments.tree)?;
    bar.begin_stage("checking");
    let checked = arguments
        .tree
        .check_jobs(&sources, summarizer(&sources, &look));
    let selection = Selection {
        rules_appendix: arguments.rules_appendix,
        on: arguments.tree.on(),
        ..Selection::default()
    };
    let request = MakeRequest {
        selection: &selection,
        files: BTreeSet::new(),
        output: &arguments.output,
        look: &look,
        bar: &bar,
        world: &world,
        rehashes: arguments.verify,
    };
    let (status, published) = make(&sources, &checked, request, |outlet| {
        publish(&sources, &checked, &selection, outlet)
    })?;
    if published.is_some() {
        let front = arguments.output.path("index.html");
        print_summary(&format!("open {}\n", front.display()));
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
