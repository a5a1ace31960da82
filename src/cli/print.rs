//! `benchleaf print`

use super::exit::{CliError, ExitStatus};
use super::progress::Bar;
use super::shared::{MakeRequest, OutputArguments, TreeArguments, make_and_list, require_known};
use crate::page::SheetKind;
use crate::publish::{Selection, publish};
use crate::sheet::Summary;
use clap::Args;

/// Make the sheets of selected jobs
///
/// Checks all sources, but makes the sheets even if other jobs have errors. Prints the path of each
/// page. Sheets of other jobs are not changed.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf print --procedure float-bowl --machine tarn-yarrow
  benchleaf print my-shop --machine tarn-yarrow --sheet bench-checklist")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    /// Only this procedure or fault table; can be repeated
    #[arg(long, short, value_name = "ID")]
    procedure: Vec<String>,

    /// Only this machine; can be repeated
    #[arg(long, short, value_name = "ID")]
    machine: Vec<String>,

    /// Only this kind of sheet; can be repeated
    #[arg(long, short, value_name = "KIND")]
    sheet: Vec<PrintKind>,

    #[command(flatten)]
    output: OutputArguments,
}

/// The kinds of sheet that belong to a job or a fault table.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum PrintKind {
    ShopSheet,
    BenchChecklist,
    KitList,
    FaultTable,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    arguments.output.run(|| make_once(arguments))
}

fn make_once(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let world = arguments.tree.open()?;
    let sources = crate::read(&world);
    for id in &arguments.procedure {
        let ids = sources.procedures.iter().chain(&sources.faults);
        require_known("procedure", id, ids.map(|procedure| procedure.id.as_str()))?;
    }
    for id in &arguments.machine {
        let ids = sources.shop.machines.keys();
        require_known("machine", id, ids)?;
    }
    let kinds = arguments.sheet.iter().map(|kind| match kind {
        PrintKind::ShopSheet => SheetKind::ShopSheet,
        PrintKind::BenchChecklist => SheetKind::BenchChecklist,
        PrintKind::KitList => SheetKind::KitList,
        PrintKind::FaultTable => SheetKind::FaultTable,
    });
    let selection = Selection {
        procedures: arguments.procedure.clone(),
        machines: arguments.machine.clone(),
        kinds: kinds.collect(),
        on: arguments.tree.on(),
        ..Selection::default()
    };
    let checked = arguments.tree.check_jobs(&sources, |rehearsed| {
        let job = &rehearsed.job;
        selection.includes(job).then(|| Summary::of(job))
    });
    let files = checked.jobs.iter().flat_map(|job| &job.sources);
    let request = MakeRequest {
        selection: &selection,
        files: files.copied().collect(),
        output: &arguments.output,
        look: &arguments.output.look(&arguments.tree)?,
        bar: &Bar::new(),
        world: &world,
        rehashes: false,
    };
    make_and_list(&sources, &checked, request, |outlet| {
        publish(&sources, &checked, &selection, outlet)
    })
}
