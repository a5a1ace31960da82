//! `benchleaf bind`

use super::console::{print, print_error, print_summary};
use super::exit::{CliError, ExitStatus};
use super::progress::Bar;
use super::shared::{OutputArguments, TreeArguments, counted, require_known, show};
use crate::finding::Level;
use crate::publish::manual::{Scope, bind};
use crate::publish::{Outlet, PublishError};
use clap::Args;
use indexmap::IndexSet;

/// Make the shop's manual as one PDF
///
/// Covers the whole shop, or only what `--machine` and `--system` select: data, procedures with page
/// references, fault tables, tool crib, index. Checks all sources first; if there are errors, nothing is
/// made. `--system` also includes the procedures that begin or finish those of the system.
///
/// `publish` makes the manual of the whole shop too, and deletes other manuals from the output folder,
/// because they would go out of date. Use `--output` to keep this manual in another folder.
#[derive(Debug, Args)]
// Hidden, because a manual is never HTML.
#[command(mut_arg("html_only", |argument| argument.hide(true)))]
#[command(after_help = "\
Examples:
  benchleaf bind                               the whole shop, as output/manual.pdf
  benchleaf bind --machine tarn-yarrow         one machine, as output/tarn-yarrow/manual.pdf
  benchleaf bind my-shop --system fuel --machine tarn-yarrow --machine tarn-sedge")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    /// Only this machine; can be repeated
    #[arg(long, short, value_name = "ID")]
    machine: Vec<String>,

    /// Only the system in this folder; can be repeated
    #[arg(long, short, value_name = "FOLDER")]
    system: Vec<String>,

    #[command(flatten)]
    output: OutputArguments,

    /// Print the reference of the checking rules, as an appendix
    #[arg(long)]
    rules_appendix: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    arguments.output.run(|| make_once(arguments))
}

fn make_once(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    if arguments.output.is_html_only() {
        return Err(
            CliError::new("a manual is a PDF, so `--html-only` can't be used")
                .help("`benchleaf publish --html-only` makes the sheets without PDFs"),
        );
    }
    let world = arguments.tree.open()?;
    let sources = crate::read(&world);
    let checked = arguments.tree.check_jobs(&sources, Some);
    for id in &arguments.machine {
        let ids = sources.shop.machines.keys();
        require_known("machine", id, ids)?;
    }
    let mut folders: Vec<&str> = sources
        .procedures
        .iter()
        .map(|procedure| procedure.system.as_str())
        .collect();
    folders.sort_unstable();
    folders.dedup();
    for folder in &arguments.system {
        require_known("system", folder, folders.iter().copied())?;
    }
    let has_errors = checked.findings.count(Level::Error) > 0;
    if has_errors && !sources.tree.is_current(&world) {
        // A source that is being saved may have had half of its text.
        return Err(PublishError::SourcesChanged.into());
    }
    show(&sources, &checked.findings);
    if has_errors {
        print_error("nothing was made: fix the errors above\n");
        return Ok(ExitStatus::SourceErrors);
    }
    let without_repeats = |ids: &[String]| {
        let ids: IndexSet<&String> = ids.iter().collect();
        ids.into_iter().cloned().collect()
    };
    let scope = Scope {
        machines: without_repeats(&arguments.machine),
        systems: without_repeats(&arguments.system),
        rules_appendix: arguments.rules_appendix,
    };
    let look = arguments.output.look(&arguments.tree)?;
    let bar = Bar::new();
    let bound = bind(
        &sources,
        &checked,
        &scope,
        Outlet {
            look: &look,
            pdfs: &arguments.output.pdfs(),
            folder: arguments.output.folder(),
            settings: arguments.output.settings(),
            world: Some(&world),
            progress: &bar,
        },
    )?;
    bar.finish();
    if bound.sheets == 0 {
        return Err(CliError::new("no job matches")
            .help("a procedure's `machines` lists the machines it is for"));
    }
    print_summary(&format!(
        "{} of {} in {}: {} written, {} unchanged\n",
        counted(bound.paths.len(), "manual", "manuals"),
        counted(bound.jobs, "job", "jobs"),
        arguments.output.folder().display(),
        counted(bound.files.written, "file", "files"),
        bound.files.unchanged,
    ));
    arguments.output.report_foreign(&bound.files);
    for path in &bound.paths {
        print(&format!("{}\n", arguments.output.path(path).display()));
    }
    Ok(ExitStatus::Success)
}
