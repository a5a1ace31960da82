//! Shared by several commands: arguments, messages and the making of sheets.

use super::console::{print, print_error, print_summary};
use super::exit::{CliError, ExitStatus};
use super::progress::Bar;
use super::signals::clean_up_on_signals;
use crate::finding::{FileId, Finding, Findings, Level, nearest};
use crate::output::{FileChanges, MovedAside, Output, OutputSettings, Syncing};
use crate::publish::{Outlet, Pdfs, PublishError, Published, Selection};
use crate::render::{Look, Typst};
use crate::report;
use crate::trade::Day;
use crate::tree::Disk;
use crate::{CheckedJobs, Rehearsed, Sources};
use clap::Args;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Arguments of commands that check a tree.
#[derive(Debug, Args)]
pub(super) struct TreeArguments {
    /// The sources folder
    #[arg(default_value = "procedures", value_name = "SOURCES")]
    tree: PathBuf,

    /// Count findings of this level or worse as errors
    #[arg(long, value_name = "LEVEL")]
    deny: Option<Deny>,

    /// Report what is due on this day, such as calibrations
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
    pub(super) fn folder(&self) -> &Path {
        &self.tree
    }

    pub(super) fn read(&self) -> Result<Sources, CliError> {
        Ok(crate::read(&self.open()?))
    }

    pub(super) fn open(&self) -> Result<Disk, CliError> {
        Disk::open(&self.tree).map_err(|error| {
            let name = self.tree.display();
            CliError::new(format!("can't open the folder `{name}`: {error}"))
                .help("give the sources folder as an argument: `benchleaf check my-shop`")
        })
    }

    /// Checks the sources and raises denied findings to errors. Keeps what `take` returns for each job.
    pub(super) fn check_jobs<'s, T: Send>(
        &self,
        sources: &'s Sources,
        take: impl Fn(Rehearsed<'s>) -> Option<T> + Sync,
    ) -> CheckedJobs<'s, T> {
        let mut checked = crate::check_jobs(sources, self.on, take);
        self.raise_denied(&mut checked.findings);
        checked
    }

    /// Raises denied findings to errors.
    pub(super) fn raise_denied(&self, findings: &mut Findings) {
        let denied = match self.deny {
            None => Level::Error,
            Some(Deny::Warning) => Level::Warning,
            Some(Deny::Advice) => Level::Advice,
        };
        findings.set_levels(|finding| {
            Some(if finding.level >= denied {
                Level::Error
            } else {
                finding.level
            })
        });
    }

    /// The day on which what has expired is reported.
    pub(super) fn on(&self) -> Option<Day> {
        self.on
    }
}

/// Arguments of commands that make sheets.
#[derive(Debug, Args)]
pub(super) struct OutputArguments {
    /// The output folder
    #[arg(long, value_name = "DIR", default_value = "output")]
    output: PathBuf,

    /// The Typst program, which makes the PDFs
    #[arg(
        long,
        value_name = "FILE",
        env = "BENCHLEAF_TYPST",
        hide_env_values = true
    )]
    typst: Option<PathBuf>,

    /// Folder of the shop's own templates; by default `templates` beside the sources folder
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,

    /// Make no PDFs; up-to-date PDFs are kept
    #[arg(long)]
    html_only: bool,

    /// Do not wait until the files are on the disk; after a power failure, they may be empty
    #[arg(long)]
    no_sync: bool,
}

/// How often the sources are read while they change.
const MOST_READS: usize = 5;

impl OutputArguments {
    /// Calls `make`, and calls it again if the sources changed meanwhile. First completes a run into the same folder that
    /// was stopped while it moved files, whether or not the sources have errors now.
    pub(super) fn run(
        &self,
        make: impl Fn() -> Result<ExitStatus, CliError>,
    ) -> Result<ExitStatus, CliError> {
        clean_up_on_signals()?;
        let completed = Output::complete_stopped_run(&self.output, self.settings())
            .map_err(|error| CliError::new(error.to_string()))?;
        if let Some(changes) = completed {
            let folder = self.output.display();
            print_error(&format!(
                "completed the run that was stopped while it moved files to {folder}\n"
            ));
            self.report_foreign(&changes);
        }
        for _ in 1..MOST_READS {
            match make() {
                Err(error) if error.reads_again => {
                    print_error("the sources have changed meanwhile: they are read again\n");
                }
                result => return result,
            }
        }
        make()
    }

    pub(super) fn settings(&self) -> OutputSettings {
        OutputSettings {
            sync: if self.no_sync {
                Syncing::Off
            } else {
                Syncing::On
            },
            rehashes: false,
        }
    }

    /// Names the files that were moved aside or left because benchleaf did not write them.
    pub(super) fn report_foreign(&self, changes: &FileChanges) {
        let list = |lines: Vec<String>| {
            let more = lines.len().saturating_sub(MOST_LISTED);
            let rest = (more > 0).then(|| format!("  and {more} more\n"));
            let listed = lines.into_iter().take(MOST_LISTED);
            listed.chain(rest).collect::<String>()
        };
        let aside = changes.moved_aside.iter().map(|MovedAside { path, to }| {
            let (path, to) = (self.path(path), self.path(to));
            format!("  {} is now {}\n", path.display(), to.display())
        });
        let aside: Vec<String> = aside.collect();
        if !aside.is_empty() {
            print_error(&format!(
                "{} had been changed since benchleaf wrote {}, and {} moved aside; to change a page, edit the sources\n{}",
                counted(aside.len(), "file", "files"),
                if aside.len() == 1 { "it" } else { "them" },
                if aside.len() == 1 { "was" } else { "were" },
                list(aside)
            ));
        }
        let left = changes.left.iter();
        let left = left.map(|path| format!("  {}\n", self.path(path).display()));
        let left: Vec<String> = left.collect();
        if !left.is_empty() {
            print_error(&format!(
                "{} may be outdated, and nothing shows that benchleaf wrote {}: remove what you do not need\n{}",
                counted(left.len(), "file", "files"),
                if left.len() == 1 { "it" } else { "them" },
                list(left)
            ));
        }
    }

    pub(super) fn pdfs(&self) -> Pdfs {
        if self.html_only {
            return Pdfs::NotAsked;
        }
        let working_folder = std::env::current_dir().unwrap_or_default();
        match Typst::find(self.typst.as_deref(), None, &working_folder) {
            Ok(typst) => Pdfs::With(typst),
            Err(error) => Pdfs::Without(error),
        }
    }
}

/// The folder of the shop's own templates: `named`, or by default `templates` beside the tree, which need not exist.
///
/// # Errors
///
/// If there is no folder `named`: pages without the shop's look would be published.
pub(super) fn templates(named: Option<&Path>, tree: &Path) -> Result<PathBuf, CliError> {
    if let Some(folder) = named {
        if folder.is_dir() {
            return Ok(folder.to_owned());
        }
        let message = format!("there is no folder `{}`", folder.display());
        return Err(CliError::new(message)
            .help("name the folder of the shop's own templates, or leave `--templates` out"));
    }
    // The text of a path such as `.` does not contain its parent's name, so it is resolved first.
    Ok(match tree.parent() {
        Some(parent) if tree.file_name().is_some() => parent.join("templates"),
        _ => {
            let resolved = tree.canonicalize().unwrap_or_default();
            resolved.with_file_name("templates")
        }
    })
}

/// Shows findings; if there are very many, the worst ones.
pub(super) fn show(sources: &Sources, findings: &Findings) {
    print_error(&report::terminal_worst(&sources.tree, findings, true));
}

/// What a command makes, and the settings it makes it with.
pub(super) struct MakeRequest<'m> {
    pub(super) selection: &'m Selection,
    /// The source files of the selected jobs.
    pub(super) files: BTreeSet<FileId>,
    pub(super) output: &'m OutputArguments,
    pub(super) look: &'m Look,
    pub(super) bar: &'m Bar,
    /// Where the sources were read from.
    pub(super) world: &'m Disk,
    /// Whether every file of the output is read, to find those that somebody changed.
    pub(super) rehashes: bool,
}

/// The most files that a message lists.
const MOST_LISTED: usize = 20;

/// Calls [`make`], then prints the path of each page. It is an error if no job is selected.
pub(super) fn make_and_list<T>(
    sources: &Sources,
    checked: &CheckedJobs<'_, T>,
    request: MakeRequest<'_>,
    publish: impl FnOnce(Outlet<'_>) -> Result<Published, PublishError>,
) -> Result<ExitStatus, CliError> {
    let output = request.output;
    let (status, published) = make(sources, checked, request, publish)?;
    if published
        .as_ref()
        .is_some_and(|published| published.sheets == 0)
    {
        return Err(CliError::new("no job matches")
            .help("a procedure's `machines` lists the machines it is for"));
    }
    for path in published.iter().flat_map(|published| &published.paths) {
        print(&format!("{}\n", output.path(path).display()));
    }
    Ok(status)
}

/// Calls `publish` to make sheets, then prints their number.
///
/// Makes nothing if any file of the jobs has an error: a page that might be wrong is worse than no
/// page.
pub(super) fn make<T>(
    sources: &Sources,
    checked: &CheckedJobs<'_, T>,
    request: MakeRequest<'_>,
    publish: impl FnOnce(Outlet<'_>) -> Result<Published, PublishError>,
) -> Result<(ExitStatus, Option<Published>), CliError> {
    let (output, look, bar) = (request.output, request.look, request.bar);
    let (world, rehashes) = (request.world, request.rehashes);
    let blocking = blocking_error(sources, checked, request);
    if blocking.is_some() && !sources.tree.is_current(world) {
        // A source that is being saved may have had half of its text.
        return Err(PublishError::SourcesChanged.into());
    }
    show(sources, &checked.findings);
    if let Some(finding) = blocking {
        let message = if finding.primary.is_some() {
            "nothing was made: fix the errors above\n"
        } else {
            "nothing was made\n"
        };
        print_error(message);
        return Ok((ExitStatus::SourceErrors, None));
    }
    let published = publish(Outlet {
        look,
        pdfs: &output.pdfs(),
        folder: &output.output,
        settings: OutputSettings {
            rehashes,
            ..output.settings()
        },
        world: Some(world),
        progress: bar,
    })?;
    bar.finish();
    let files = &published.files;
    // Fault tables belong to no job.
    let jobs = match published.jobs {
        0 => String::new(),
        count => format!(" of {}", counted(count, "job", "jobs")),
    };
    print_summary(&format!(
        "{}{jobs} in {}: {} written, {} unchanged, {} removed\n",
        counted(published.sheets, "sheet", "sheets"),
        output.output.display(),
        counted(files.written, "file", "files"),
        files.unchanged,
        files.removed,
    ));
    output.report_foreign(files);
    Ok((ExitStatus::Success, Some(published)))
}

impl OutputArguments {
    /// Reads the shop's own templates, logo and words. It is an error if pages would be written into the folder of
    /// the sources.
    pub(super) fn look(&self, tree: &TreeArguments) -> Result<Look, CliError> {
        let resolve = |path: &Path| path.canonicalize().ok();
        if resolve(&self.output).is_some_and(|output| resolve(&tree.tree) == Some(output)) {
            let name = self.output.display();
            return Err(CliError::new(format!("`{name}` is the sources folder"))
                .help("choose another output folder with --output"));
        }
        Look::read(&templates(self.templates.as_deref(), &tree.tree)?)
            .map_err(|error| CliError::new(error.to_string()))
    }

    pub(super) fn is_html_only(&self) -> bool {
        self.html_only
    }

    pub(super) fn folder(&self) -> &Path {
        &self.output
    }

    /// Resolves a path within the output to a path from the current folder.
    pub(super) fn path(&self, path: &str) -> PathBuf {
        self.output.join(path)
    }
}

/// The first error that prevents making the selected jobs: in one of their files, in a selected
/// procedure without a job, or in no file.
fn blocking_error<'c, T>(
    sources: &Sources,
    checked: &'c CheckedJobs<'_, T>,
    request: MakeRequest<'_>,
) -> Option<&'c Finding> {
    let selection = request.selection;
    let faults = checked.faults.iter();
    let faults = faults.filter(|fault| selection.includes(&fault.job));
    let mut files = request.files;
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
        .filter(|finding| finding.level == Level::Error);
    errors.find(|finding| match &finding.primary {
        Some(mark) => selection.is_whole() || files.contains(&mark.span.file),
        None => true,
    })
}

/// Checks that a name is among the known names. The error suggests the nearest one, or lists them.
pub(super) fn require_known<'n>(
    what: &str,
    name: &str,
    known_names: impl IntoIterator<Item = &'n str> + Clone,
) -> Result<(), CliError> {
    if known_names
        .clone()
        .into_iter()
        .any(|known_name| known_name == name)
    {
        return Ok(());
    }
    let error = CliError::new(format!("there is no {what} `{name}`"));
    let help = if let Some(near) = nearest(name, known_names.clone()) {
        format!("did you mean `{near}`?")
    } else {
        // A longer list would scroll the message off the screen.
        const MAX_LISTED: usize = 40;
        let names: Vec<&str> = known_names.into_iter().collect();
        if names.len() > MAX_LISTED {
            format!("there are {} names, and none is similar", names.len())
        } else {
            format!("there are: {}", names.join(", "))
        }
    };
    Err(error.help(help))
}

/// A count with its noun: "1 sheet", "2 sheets".
pub(super) fn counted(count: usize, singular: &str, plural: &str) -> String {
    let word = if count == 1 { singular } else { plural };
    format!("{count} {word}")
}

/// A path in a message, in backticks, without what could move the terminal's cursor.
pub(super) fn shown_path(path: &Path) -> String {
    format!("`{}`", without_controls(&path.display().to_string()))
}

/// A path as an argument of a command that the user may copy into a shell.
pub(super) fn quoted_argument(path: &Path) -> String {
    let text = without_controls(&path.display().to_string());
    let is_plain = |letter: char| letter.is_alphanumeric() || "/._-".contains(letter);
    if !text.is_empty() && !text.starts_with('-') && text.chars().all(is_plain) {
        return text;
    }
    // A name that begins with a hyphen would be an option.
    let text = if text.starts_with('-') {
        format!("./{text}")
    } else {
        text
    };
    format!("'{}'", text.replace('\'', "'\\''"))
}

/// Removes control characters, which could move the terminal's cursor.
pub(super) fn without_controls(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_control()).collect()
}
