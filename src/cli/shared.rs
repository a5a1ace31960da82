//! What several commands ask for and say.

use super::progress::Bar;
use super::{Ended, Refusal, say, warn};
use crate::finding::{Finding, Findings, Level, nearest};
use crate::job::Job;
use crate::publish::{Pdfs, Published, Selection};
use crate::render::{Look, Typst};
use crate::trade::Day;
use crate::tree::Disk;
use crate::{Checked, Sources};
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
    /// Reads the tree.
    pub(super) fn read(&self) -> Result<Sources, Refusal> {
        let disk = Disk::open(&self.tree).map_err(|error| {
            let name = self.tree.display();
            Refusal::new(format!("can't open the folder `{name}`: {error}")).help(
                "the first argument is the folder of the shop's sources: `benchleaf check my-shop`",
            )
        })?;
        Ok(crate::read(&disk))
    }

    /// Checks what was read, and raises what is denied.
    pub(super) fn check<'s>(&self, sources: &'s Sources) -> Checked<'s> {
        self.check_keeping(sources, |_| true)
    }

    /// As [`check`](Self::check), keeping only some of the jobs.
    pub(super) fn check_keeping<'s>(
        &self,
        sources: &'s Sources,
        keep: impl Fn(&Job<'s>) -> bool + Sync,
    ) -> Checked<'s> {
        let mut checked = crate::check_keeping(sources, self.on, keep);
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
    /// The folder of the shop's own templates.
    fn templates(&self, tree: &Path) -> PathBuf {
        if let Some(folder) = &self.templates {
            return folder.clone();
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

    fn pdfs(&self) -> Pdfs {
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

/// Shows findings.
pub(super) fn show(sources: &Sources, findings: &Findings) {
    warn(&crate::report::terminal(&sources.tree, findings, true));
}

/// Makes the leaves of some jobs, as [`make`] does, and says where each page is.
pub(super) fn make_some(
    sources: &Sources,
    checked: &Checked<'_>,
    selection: &Selection,
    tree: &TreeArguments,
    arguments: &OutputArguments,
) -> Result<Ended, Refusal> {
    let (ended, published) = make(sources, checked, selection, tree, arguments)?;
    if published.as_ref().is_some_and(|made| made.leaves == 0) {
        return Err(Refusal::new("there is no such job")
            .help("a procedure's `machines` say which machines it is for"));
    }
    for path in published.iter().flat_map(|made| &made.paths) {
        say(&format!("{}\n", arguments.path(path).display()));
    }
    Ok(ended)
}

/// Makes the selected leaves and says what was made.
///
/// Nothing is made of a job that has an error in any of its files: a page that
/// might be wrong is worse than none.
pub(super) fn make(
    sources: &Sources,
    checked: &Checked<'_>,
    selection: &Selection,
    tree: &TreeArguments,
    arguments: &OutputArguments,
) -> Result<(Ended, Option<Published>), Refusal> {
    show(sources, &checked.findings);
    if let Some(finding) = blocking(sources, checked, selection) {
        let what = if finding.primary.is_some() {
            "nothing was made: the errors above stand in the way\n"
        } else {
            "nothing was made\n"
        };
        warn(what);
        return Ok((Ended::WithErrors, None));
    }
    let look = Look::read(&arguments.templates(&tree.tree))
        .map_err(|error| Refusal::new(error.to_string()))?;
    let bar = Bar::new();
    let published = crate::publish::publish(
        sources,
        checked,
        selection,
        &look,
        arguments.pdfs(),
        &arguments.output,
        &bar,
    )
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
        arguments.output.display(),
        counted(delivered.written, "file", "files"),
        delivered.unchanged,
        delivered.removed,
    ));
    let ended = if published.findings.count(Level::Error) > 0 {
        Ended::WithErrors
    } else {
        Ended::Well
    };
    Ok((ended, Some(published)))
}

impl OutputArguments {
    /// A path of the output as it can be opened from here.
    pub(super) fn path(&self, path: &str) -> PathBuf {
        self.output.join(path)
    }
}

/// An error that keeps the selected jobs from being made: one in any file of theirs, or of a
/// selected procedure of which no job could be made at all.
fn blocking<'c>(
    sources: &Sources,
    checked: &'c Checked<'_>,
    selection: &Selection,
) -> Option<&'c Finding> {
    let all = checked.jobs.iter().chain(&checked.faults);
    let jobs = all.filter(|one| selection.takes(&one.job));
    let mut files: BTreeSet<_> = jobs.flat_map(|one| &one.job.sources).copied().collect();
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
