//! What several commands ask for and say.

use super::progress::Bar;
use super::{Ended, Refusal, say, warn};
use crate::finding::{FileId, Finding, Findings, Level, nearest};
use crate::publish::{Outlet, Pdfs, PublishError, Published, Selection};
use crate::render::{Look, Typst};
use crate::trade::Day;
use crate::tree::Disk;
use crate::{Checked, Rehearsed, Sources};
use clap::Args;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The tree, and which findings count as errors.
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
    /// The folder that was named.
    pub(super) fn folder(&self) -> &Path {
        &self.tree
    }

    /// Reads the tree.
    pub(super) fn read(&self) -> Result<Sources, Refusal> {
        Ok(crate::read(&self.open()?))
    }

    /// The tree's folder, if there is one.
    pub(super) fn open(&self) -> Result<Disk, Refusal> {
        Disk::open(&self.tree).map_err(|error| {
            let name = self.tree.display();
            Refusal::new(format!("can't open the folder `{name}`: {error}")).help(
                "the first argument is the folder of the shop's sources: `benchleaf check my-shop`",
            )
        })
    }

    /// Checks what was read, keeping of each job what `take` makes of it, and raises what is denied.
    pub(super) fn check_taking<'s, T: Send>(
        &self,
        sources: &'s Sources,
        take: impl Fn(Rehearsed<'s>) -> Option<T> + Sync,
    ) -> Checked<'s, T> {
        let mut checked = crate::check_taking(sources, self.on, take);
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

/// Where the leaves go and what they are made with.
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

/// The folder of the shop's own templates: the one that is named, or else the one beside the tree.
pub(super) fn templates(named: Option<&Path>, tree: &Path) -> PathBuf {
    if let Some(folder) = named {
        return folder.to_owned();
    }
    // `procedures` has `templates` beside it; of `.` only its real path knows what is beside it.
    match tree.parent() {
        Some(beside) if tree.file_name().is_some() => beside.join("templates"),
        _ => {
            let real = tree.canonicalize().unwrap_or_default();
            real.with_file_name("templates")
        }
    }
}

/// Shows findings.
pub(super) fn show(sources: &Sources, findings: &Findings) {
    warn(&crate::report::terminal(&sources.tree, findings, true));
}

/// What a command is about to make.
pub(super) struct Making<'m> {
    /// Which jobs and tables it takes.
    pub(super) selection: &'m Selection,
    /// The files of the jobs it takes.
    pub(super) files: BTreeSet<FileId>,
    pub(super) output: &'m OutputArguments,
    pub(super) look: &'m Look,
    pub(super) bar: &'m Bar,
}

/// Makes the leaves of some jobs, as [`make`] does, and says where each page is.
pub(super) fn make_some<T>(
    sources: &Sources,
    checked: &Checked<'_, T>,
    making: Making<'_>,
    publish: impl FnOnce(Outlet<'_>) -> Result<Published, PublishError>,
) -> Result<Ended, Refusal> {
    let output = making.output;
    let (ended, published) = make(sources, checked, making, publish)?;
    if published.as_ref().is_some_and(|made| made.leaves == 0) {
        return Err(Refusal::new("there is no such job")
            .help("a procedure's `machines` say which machines it is for"));
    }
    for path in published.iter().flat_map(|made| &made.paths) {
        say(&format!("{}\n", output.path(path).display()));
    }
    Ok(ended)
}

/// Makes what is asked for with `publish` and says what was made.
///
/// Nothing is made of a job that has an error in any of its files: a page that
/// might be wrong is worse than none.
pub(super) fn make<T>(
    sources: &Sources,
    checked: &Checked<'_, T>,
    making: Making<'_>,
    publish: impl FnOnce(Outlet<'_>) -> Result<Published, PublishError>,
) -> Result<(Ended, Option<Published>), Refusal> {
    let (output, look, bar) = (making.output, making.look, making.bar);
    show(sources, &checked.findings);
    if let Some(finding) = blocking(sources, checked, making) {
        let what = if finding.primary.is_some() {
            "nothing was made: the errors above stand in the way\n"
        } else {
            "nothing was made\n"
        };
        warn(what);
        return Ok((Ended::WithErrors, None));
    }
    let published = publish(Outlet {
        look,
        pdfs: &output.pdfs(),
        folder: &output.output,
        progress: bar,
    })
    .map_err(|error| Refusal::new(error.to_string()))?;
    bar.finish();
    show(sources, &published.findings);
    let delivered = &published.delivered;
    // A fault table is of no job.
    let of_jobs = match published.jobs {
        0 => String::new(),
        jobs => format!(" of {}", counted(jobs, "job", "jobs")),
    };
    say(&format!(
        "{}{of_jobs} in {}: {} written, {} unchanged, {} removed\n",
        counted(published.leaves, "leaf", "leaves"),
        output.output.display(),
        counted(delivered.written, "file", "files"),
        delivered.unchanged,
        delivered.removed,
    ));
    if delivered.restored > 0 {
        warn(&format!(
            "{} had been changed by somebody and were made anew: what pages say is changed in the sources\n",
            counted(delivered.restored, "file", "files"),
        ));
    }
    let ended = if published.findings.count(Level::Error) > 0 {
        Ended::WithErrors
    } else {
        Ended::Well
    };
    Ok((ended, Some(published)))
}

impl OutputArguments {
    /// The shop's own look. Pages among the sources would be taken for sources, or bury them.
    pub(super) fn look(&self, tree: &TreeArguments) -> Result<Look, Refusal> {
        let real = |path: &Path| path.canonicalize().ok();
        if real(&self.output).is_some_and(|output| real(&tree.tree) == Some(output)) {
            let name = self.output.display();
            return Err(
                Refusal::new(format!("`{name}` is the folder of the sources"))
                    .help("name another folder for the pages with --output"),
            );
        }
        Look::read(&templates(self.templates.as_deref(), &tree.tree))
            .map_err(|error| Refusal::new(error.to_string()))
    }

    /// Whether no PDFs are asked for.
    pub(super) fn is_html_only(&self) -> bool {
        self.html_only
    }

    /// The folder for what is made.
    pub(super) fn folder(&self) -> &Path {
        &self.output
    }

    /// A path of the output as it can be opened from here.
    pub(super) fn path(&self, path: &str) -> PathBuf {
        self.output.join(path)
    }
}

/// An error that keeps the selected jobs from being made: one in any file of theirs, or of a
/// selected procedure of which no job could be made at all.
fn blocking<'c, T>(
    sources: &Sources,
    checked: &'c Checked<'_, T>,
    making: Making<'_>,
) -> Option<&'c Finding> {
    let selection = making.selection;
    let faults = checked.faults.iter();
    let faults = faults.filter(|one| selection.takes(&one.job));
    let mut files = making.files;
    files.extend(faults.flat_map(|one| &one.job.sources));
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

/// Refuses a name that is not among the known ones.
pub(super) fn known<'n>(
    what: &str,
    name: &str,
    among: impl IntoIterator<Item = &'n str> + Clone,
) -> Result<(), Refusal> {
    if among.clone().into_iter().any(|known| known == name) {
        return Ok(());
    }
    let refusal = Refusal::new(format!("there is no {what} `{name}`"));
    let help = if let Some(near) = nearest(name, among.clone()) {
        format!("did you mean `{near}`?")
    } else {
        // All of a few; of many, a page of names would bury what went wrong.
        const FEW: usize = 40;
        let names: Vec<&str> = among.into_iter().collect();
        if names.len() > FEW {
            format!("there are {}, and none is spelt like it", names.len())
        } else {
            format!("there are: {}", names.join(", "))
        }
    };
    Err(refusal.help(help))
}

/// "1 leaf", "2 leaves".
pub(super) fn counted(count: usize, one: &str, more: &str) -> String {
    let word = if count == 1 { one } else { more };
    format!("{count} {word}")
}
