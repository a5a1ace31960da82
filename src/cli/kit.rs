//! `benchleaf kit`

use super::exit::{CliError, ExitStatus};
use super::progress::Bar;
use super::shared::{MakeRequest, OutputArguments, TreeArguments, make_and_list, require_known};
use crate::job::Job;
use crate::publish::{Selection, kit};
use clap::Args;

/// Make one kit list for several jobs
///
/// Adds up the parts and supplies of all jobs and lists each tool once. The kit list of a single job is
/// also among the job's own sheets. The next `publish` deletes a kit list of several jobs from its
/// output folder; use `--output` to keep the list in another folder.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf kit --machine tarn-yarrow --procedure float-bowl --procedure oil-change
  benchleaf kit my-shop --procedure oil-change            on every machine it is for")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    /// Include this procedure; can be repeated
    #[arg(long, short, value_name = "ID", required = true)]
    procedure: Vec<String>,

    /// Only on this machine; can be repeated
    #[arg(long, short, value_name = "ID")]
    machine: Vec<String>,

    #[command(flatten)]
    output: OutputArguments,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    arguments.output.run(|| make_once(arguments))
}

fn make_once(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let world = arguments.tree.open()?;
    let sources = crate::read(&world);
    for id in &arguments.procedure {
        let ids = sources
            .procedures
            .iter()
            .map(|procedure| procedure.id.as_str());
        require_known("procedure", id, ids)?;
    }
    for id in &arguments.machine {
        let ids = sources.shop.machines.keys();
        require_known("machine", id, ids)?;
    }
    let selection = Selection {
        procedures: arguments.procedure.clone(),
        machines: arguments.machine.clone(),
        kinds: Vec::new(),
        ..Selection::default()
    };
    let checked = arguments.tree.check_jobs(&sources, |rehearsed| {
        selection.includes(&rehearsed.job).then_some(rehearsed.job)
    });
    let jobs: Vec<&Job<'_>> = checked.jobs.iter().collect();
    let request = MakeRequest {
        selection: &selection,
        files: jobs.iter().flat_map(|job| &job.sources).copied().collect(),
        output: &arguments.output,
        look: &arguments.output.look(&arguments.tree)?,
        bar: &Bar::new(),
        world: &world,
        rehashes: false,
    };
    make_and_list(&sources, &checked, request, |outlet| {
        kit(&sources, &jobs, outlet)
    })
}
