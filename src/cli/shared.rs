//! What several commands share: arguments, messages and the making of leaves.

use super::console::{print, print_error};
use super::exit::{CliError, ExitStatus};
use super::progress::Bar;
use crate::finding::{FileId, Finding, Findings, Level, nearest};
use crate::publish::{Outlet, Pdfs, PublishError, Published, Selection};
use crate::render::{Look, Typst};
use crate::trade::Day;
use crate::tree::Disk;
use crate::{CheckedJobs, Rehearsed, Sources};
use clap::Args;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Arguments of commands that check a tree.
#[derive(Debug, Args)]
pub(super) struct TreeArguments {
    /// Folder of the shop's sources
    #[arg(default_value = "procedures", value_name = "TREE")]
    tree: PathBuf,

    /// Count findings of this level, and of any worse, as errors
    #[arg(long, value_name = "LEVEL")]
    deny: Option<Deny>,

    /// Say which calibrations are out of date on this day
    #[arg(long, value_name = "DATE", value_parser = day)]
    on: Option<Day>,
}

fn day(text: &str) -> Result<Day, String> {
    Day::parse(text).map_err(|error| error.to_string())
}

#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum Deny {
    Warning,
    Advice,
}

impl TreeArguments {
    /// The folder of the sources.
    pub(super) fn folder(&self) -> &Path {
        &self.tree
    }

    /// Reads the tree.
    pub(super) fn read(&self) -> Result<Sources, CliError> {
        Ok(crate::read(&self.open()?))
    }

    /// Opens the folder of the sources.
    pub(super) fn open(&self) -> Result<Disk, CliError> {
        Disk::open(&self.tree).map_err(|error| {
            let name = self.tree.display();
            CliError::new(format!("can't open the folder `{name}`: {error}")).help(
                "the first argument is the folder of the shop's sources: `benchleaf check my-shop`",
            )
        })
    }

    /// Checks the sources, keeps what `take` returns for each job, and raises denied findings to errors.
    pub(super) fn check_jobs<'s, T: Send>(
        &self,
        sources: &'s Sources,
        take: impl Fn(Rehearsed<'s>) -> Option<T> + Sync,
    ) -> CheckedJobs<'s, T> {
        let mut checked = crate::check_jobs(sources, self.on, take);
        let denied = match self.deny {
            None => Level::Error,
            Some(Deny::Warning) => Level::Warning,
            Some(Deny::Advice) => Level::Advice,
        };
        checked.findings.set_levels(|found| {
            Some(if found.level >= denied {
                Level::Error
            } else {
                found.level
            })
        });
        checked
    }
}

/// Arguments of commands that make leaves.
#[derive(Debug, Args)]
pub(super) struct OutputArguments {
    /// Folder for what is made
    #[arg(long, value_name = "DIR", default_value = "output")]
    output: PathBuf,

    /// The Typst program, which sets the PDFs
    #[arg(
        long,
        value_name = "FILE",
        env = "BENCHLEAF_TYPST",
        hide_env_values = true
    )]
    typst: Option<PathBuf>,

    /// Folder of the shop's own templates; `templates` beside the tree where none is given
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,

    /// Make no PDFs; those that still say what the pages say stay
    #[arg(long)]
    html_only: bool,
}

impl OutputArguments {
    pub(super) fn pdfs(&self) -> Pdfs {
        if self.html_only {
            return Pdfs::NotAsked;
        }
        let here = std::env::current_dir().unwrap_or_default();
        match Typst::find(self.typst.as_deref(), None, &here) {
            Ok(typst) => Pdfs::With(typst),
            Err(error) => Pdfs::Without(error),
        }
    }
}

/// The folder of the shop's own templates: the named one, or `templates` beside the tree.
pub(super) fn templates(named: Option<&Path>, tree: &Path) -> PathBuf {
    if let Some(folder) = named {
        return folder.to_owned();
    }
    // A path such as `.` has no parent that could be seen from its text.
    match tree.parent() {
        Some(beside) if tree.file_name().is_some() => beside.join("templates"),
        _ => {
            let real = tree.canonicalize().unwrap_or_default();
            real.with_file_name("templates")
        }
    }
}

/// Prints findings to standard error.
pub(super) fn show(sources: &Sources, findings: &Findings) {
    print_error(&crate::report::terminal(&sources.tree, findings, true));
}

/// What a command makes, and with what.
pub(super) struct Making<'m> {
    /// The jobs and fault tables.
    pub(super) selection: &'m Selection,
    /// The source files of those jobs.
    pub(super) files: BTreeSet<FileId>,
    pub(super) output: &'m OutputArguments,
    pub(super) look: &'m Look,
    pub(super) bar: &'m Bar,
}

/// As [`make`], and prints the path of each page.
pub(super) fn make_some<T>(
    sources: &Sources,
    checked: &CheckedJobs<'_, T>,
    making: Making<'_>,
    publish: impl FnOnce(Outlet<'_>) -> Result<Published, PublishError>,
) -> Result<ExitStatus, CliError> {
    let output = making.output;
    let (status, published) = make(sources, checked, making, publish)?;
    if published.as_ref().is_some_and(|made| made.sheets == 0) {
        return Err(CliError::new("there is no such job")
            .help("a procedure's `machines` say which machines it is for"));
    }
    for path in published.iter().flat_map(|made| &made.paths) {
        print(&format!("{}\n", output.path(path).display()));
    }
    Ok(status)
}

/// Makes leaves with `publish`, and prints how many.
///
/// Nothing is made when any file of the jobs has an error: a page that might be wrong is worse than
/// none.
pub(super) fn make<T>(
    sources: &Sources,
    checked: &CheckedJobs<'_, T>,
    making: Making<'_>,
    publish: impl FnOnce(Outlet<'_>) -> Result<Published, PublishError>,
) -> Result<(ExitStatus, Option<Published>), CliError> {
    let (output, look, bar) = (making.output, making.look, making.bar);
    show(sources, &checked.findings);
    if let Some(finding) = blocking(sources, checked, making) {
        let what = if finding.primary.is_some() {
            "nothing was made: the errors above stand in the way\n"
        } else {
            "nothing was made\n"
        };
        print_error(what);
        return Ok((ExitStatus::SourceErrors, None));
    }
    let published = publish(Outlet {
        look,
        pdfs: &output.pdfs(),
        folder: &output.output,
        progress: bar,
    })
    .map_err(|error| CliError::new(error.to_string()))?;
    bar.finish();
    show(sources, &published.findings);
    let files = &published.files;
    // Fault tables belong to no job.
    let of_jobs = match published.jobs {
        0 => String::new(),
        jobs => format!(" of {}", counted(jobs, "job", "jobs")),
    };
    print(&format!(
        "{}{of_jobs} in {}: {} written, {} unchanged, {} removed\n",
        counted(published.sheets, "leaf", "leaves"),
        output.output.display(),
        counted(files.written, "file", "files"),
        files.unchanged,
        files.removed,
    ));
    if files.restored > 0 {
        print_error(&format!(
            "{} had been changed by somebody and were made anew: what pages say is changed in the sources\n",
            counted(files.restored, "file", "files"),
        ));
    }
    Ok((ExitStatus::of(&published.findings), Some(published)))
}

impl OutputArguments {
    /// Reads the shop's own look. Refuses to write pages into the folder of the sources.
    pub(super) fn look(&self, tree: &TreeArguments) -> Result<Look, CliError> {
        let real = |path: &Path| path.canonicalize().ok();
        if real(&self.output).is_some_and(|output| real(&tree.tree) == Some(output)) {
            let name = self.output.display();
            return Err(
                CliError::new(format!("`{name}` is the folder of the sources"))
                    .help("name another folder for the pages with --output"),
            );
        }
        Look::read(&templates(self.templates.as_deref(), &tree.tree))
            .map_err(|error| CliError::new(error.to_string()))
    }

    /// Whether no PDFs are asked for.
    pub(super) fn is_html_only(&self) -> bool {
        self.html_only
    }

    /// The folder for what is made.
    pub(super) fn folder(&self) -> &Path {
        &self.output
    }

    /// A path of the output, as seen from the current folder.
    pub(super) fn path(&self, path: &str) -> PathBuf {
        self.output.join(path)
    }
}

/// An error that prevents making the selected jobs: in one of their files, or in a selected procedure
/// without a job.
fn blocking<'c, T>(
    sources: &Sources,
    checked: &'c CheckedJobs<'_, T>,
    making: Making<'_>,
) -> Option<&'c Finding> {
    let selection = making.selection;
    let faults = checked.faults.iter();
    let faults = faults.filter(|fault| selection.takes(&fault.job));
    let mut files = making.files;
    files.extend(faults.flat_map(|fault| &fault.job.sources));
    let named = sources
        .procedures
        .iter()
        .chain(&sources.faults)
        .filter(|procedure| selection.procedures.contains(&procedure.id));
    files.extend(named.map(|procedure| procedure.file));
    let mut errors = checked
        .findings
        .iter()
        .filter(|found| found.level == Level::Error);
    errors.find(|found| match &found.primary {
        Some(mark) => selection.is_whole() || files.contains(&mark.span.file),
        None => true,
    })
}

/// Checks that a name is known.
pub(super) fn known<'n>(
    what: &str,
    name: &str,
    among: impl IntoIterator<Item = &'n str> + Clone,
) -> Result<(), CliError> {
    if among.clone().into_iter().any(|known| known == name) {
        return Ok(());
    }
    let error = CliError::new(format!("there is no {what} `{name}`"));
    let help = if let Some(near) = nearest(name, among.clone()) {
        format!("did you mean `{near}`?")
    } else {
        // A longer list would hide the message.
        const MAX_LISTED: usize = 40;
        let names: Vec<&str> = among.into_iter().collect();
        if names.len() > MAX_LISTED {
            format!("there are {}, and none is spelt like it", names.len())
        } else {
            format!("there are: {}", names.join(", "))
        }
    };
    Err(error.help(help))
}

/// A count with its noun: "1 leaf", "2 leaves".
pub(super) fn counted(count: usize, singular: &str, plural: &str) -> String {
    let word = if count == 1 { singular } else { plural };
    format!("{count} {word}")
}
