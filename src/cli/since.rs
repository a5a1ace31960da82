//! Reports only findings that are new: since a revision, or beyond a baseline.

use super::exit::CliError;
use super::shared::{TreeArguments, counted, templates};
use crate::Sources;
use crate::finding::Findings;
use crate::output::replace_file;
use crate::page::{OutputContext, Sheet};
use crate::render::Look;
use crate::report::CheckedJob;
use crate::review::{
    Baseline, Before, GitError, Repository, SheetMarks, check_with_sheets, keep_introduced,
};
use crate::tree::Tree;
use clap::Args;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Which findings are new.
#[derive(Debug, Args)]
pub(super) struct SinceArguments {
    /// Report only what was introduced since this git revision, and list the sheets that the change affects
    #[arg(long, value_name = "REVISION")]
    since: Option<String>,

    /// Report only findings that this file does not list, and entries of it that are out of date
    #[arg(long, value_name = "FILE")]
    baseline: Option<PathBuf>,

    /// Write the findings to the baseline
    #[arg(long, requires = "baseline", conflicts_with = "since")]
    write_baseline: bool,
}

impl From<GitError> for CliError {
    fn from(error: GitError) -> CliError {
        CliError::new(error.to_string()).help(error.help())
    }
}

impl SinceArguments {
    /// Checks the sources, and the ones before if only what is new since then is reported.
    pub(super) fn check(
        &self,
        tree: &TreeArguments,
        sources: &Sources,
    ) -> Result<CheckResult, CliError> {
        let mut notes = Vec::new();
        let apply_baseline = |findings: &mut Findings, notes: &mut Vec<String>| {
            let path = self.baseline.as_ref();
            path.map_or(Ok(()), |path| {
                self.apply_baseline(path, &sources.tree, findings, notes)
            })
        };
        let mut result = match &self.since {
            None => {
                let mut result = checked(tree, sources);
                apply_baseline(&mut result.findings, &mut notes)?;
                result
            }
            Some(revision) => check_since(tree, sources, revision, &mut notes, apply_baseline)?,
        };
        result.notes = notes;
        Ok(result)
    }

    /// Removes the findings that the baseline has, or first writes it.
    fn apply_baseline(
        &self,
        path: &Path,
        tree: &Tree,
        findings: &mut Findings,
        notes: &mut Vec<String>,
    ) -> Result<(), CliError> {
        let name = path.display();
        let baseline = if self.write_baseline {
            let baseline = Baseline::of(tree, findings);
            replace_file(path, baseline.text().as_bytes())
                .map_err(|error| CliError::new(format!("can't write `{name}`: {error}")))?;
            baseline
        } else {
            let text = fs::read_to_string(path).map_err(|error| {
                let help = match error.kind() {
                    io::ErrorKind::NotFound => "`--write-baseline` makes it",
                    _ => "name the file that `--write-baseline` made",
                };
                CliError::new(format!("can't read the baseline `{name}`: {error}")).help(help)
            })?;
            Baseline::parse(&text).map_err(|error| {
                CliError::new(format!("`{name}` is not a baseline: {error}"))
                    .help("`--write-baseline` writes it again")
            })?
        };
        let known = baseline.apply(tree, findings);
        if known > 0 || self.write_baseline {
            notes.push(format!(
                "{} in the baseline `{name}`",
                counted(known, "known finding is", "known findings are")
            ));
        }
        Ok(())
    }
}

/// What a check has found.
pub(super) struct CheckResult {
    pub(super) findings: Findings,
    pub(super) jobs: Vec<CheckedJob>,
    /// What was left out. Sentences without a full stop.
    pub(super) notes: Vec<String>,
    /// The sheets that the change affects, if a change is checked.
    pub(super) affected: Option<Vec<String>>,
}

/// The result of a check of all findings.
fn checked(tree: &TreeArguments, sources: &Sources) -> CheckResult {
    let checked = tree.check_jobs(sources, |rehearsed| {
        let (procedure, machine) = (rehearsed.job.procedure, rehearsed.job.machine);
        Some(CheckedJob {
            file: procedure.file,
            procedure: procedure.id.clone(),
            machine: machine.id.clone(),
        })
    });
    CheckResult {
        findings: checked.findings,
        jobs: checked.jobs,
        notes: Vec::new(),
        affected: None,
    }
}

/// The result of a check of what was introduced since a revision, with the sheets that differ.
fn check_since(
    tree: &TreeArguments,
    sources: &Sources,
    revision: &str,
    notes: &mut Vec<String>,
    apply_baseline: impl FnOnce(&mut Findings, &mut Vec<String>) -> Result<(), CliError>,
) -> Result<CheckResult, CliError> {
    let repository = Repository::of(tree.folder())?;
    let base = repository.base(revision)?;
    let renames = repository.renames(&base)?;
    let look = Look::read(&templates(None, tree.folder())?)
        .map_err(|error| CliError::new(error.to_string()))?;
    let with_sheets = |sources: &Sources, marks: &SheetMarks| {
        let add = |sheet: &Sheet, context: &OutputContext| marks.add(sheet, context);
        let mut checked = check_with_sheets(sources, tree.on(), &look, add)
            .map_err(|error| CliError::new(error.to_string()))?;
        tree.raise_denied(&mut checked.findings);
        let jobs = checked.jobs.iter().map(|summary| CheckedJob {
            file: summary.procedure.file,
            procedure: summary.procedure.id.clone(),
            machine: summary.machine.id.clone(),
        });
        let jobs = jobs.collect();
        Ok::<_, CliError>((checked.findings, jobs))
    };
    let old_world = repository.commit(&base, sources.tree.name.clone())?;
    let old = crate::read(&old_world);
    let (old_marks, marks) = (SheetMarks::default(), SheetMarks::default());
    let (old_findings, _): (_, Vec<CheckedJob>) = with_sheets(&old, &old_marks)?;
    let (mut findings, jobs) = with_sheets(sources, &marks)?;
    let before = Before {
        tree: &old.tree,
        findings: &old_findings,
        renames: &renames,
    };
    // The baseline is about all findings, so it comes first.
    apply_baseline(&mut findings, notes)?;
    let known = keep_introduced(&sources.tree, &mut findings, &before);
    if known > 0 {
        notes.push(format!(
            "{} already there at `{revision}`",
            counted(known, "finding was", "findings were")
        ));
    }
    Ok(CheckResult {
        findings,
        jobs,
        notes: Vec::new(),
        affected: Some(marks.affected(old_marks)),
    })
}
