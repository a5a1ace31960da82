//! `benchleaf check --fix`

use super::console::{print, print_error};
use super::exit::{CliError, ExitStatus};
use super::reports::folder_in_repository;
use super::shared::{TreeArguments, counted};
use crate::finding::Findings;
use crate::fix::{Fixed, fix, unified_diff};
use crate::output::replace_file;
use crate::report;
use crate::review::{GitError, Repository};
use crate::tree::{Disk, World as _};
use clap::Args;
use std::fmt::Write as _;
use std::path::Path;

/// Whether the sources are corrected.
#[derive(Debug, Args)]
pub(super) struct FixArguments {
    /// Show the corrections that are safe to make, as a diff
    #[arg(long, conflicts_with_all = ["format", "report", "since", "baseline", "timings"])]
    fix: bool,

    /// Make the corrections
    #[arg(long, requires = "fix")]
    write: bool,

    /// Also correct files with changes that are not committed
    #[arg(long, requires = "write")]
    allow_uncommitted: bool,
}

impl FixArguments {
    pub(super) fn is_on(&self) -> bool {
        self.fix
    }
}

/// Shows or makes the corrections, and then shows what is left to correct.
pub(super) fn run(tree: &TreeArguments, arguments: &FixArguments) -> Result<ExitStatus, CliError> {
    let world = tree.open()?;
    let mut fixed = fix(&world, tree.on());
    let folder = folder_in_repository(tree.folder());
    for (path, (before, after)) in &fixed.files {
        let path = match folder.as_str() {
            "" => path.clone(),
            folder => format!("{folder}/{path}"),
        };
        print(&unified_diff(&path, before, after));
    }
    if arguments.write {
        if !arguments.allow_uncommitted {
            refuse_uncommitted(tree.folder(), &fixed)?;
        }
        write(&world, tree.folder(), &fixed)?;
    }
    tree.raise_denied(&mut fixed.findings);
    let left: &Findings = &fixed.findings;
    print_error(&report::terminal_worst(&fixed.sources.tree, left, true));
    print_error(&summary(arguments, &fixed));
    let is_changed_only_here = !arguments.write && !fixed.files.is_empty();
    if is_changed_only_here {
        // The files on the disk still have what the diff corrects.
        return Ok(ExitStatus::SourceErrors);
    }
    Ok(ExitStatus::of(left))
}

/// What was done, in one or two lines.
fn summary(arguments: &FixArguments, fixed: &Fixed) -> String {
    let findings = counted(fixed.applied, "finding", "findings");
    let files = counted(fixed.files.len(), "file", "files");
    let mut text = match (fixed.files.is_empty(), arguments.write) {
        (true, _) => "there are no safe corrections\n".to_owned(),
        (false, true) => format!("corrected {findings} in {files}\n"),
        (false, false) => {
            format!("the diff corrects {findings} in {files}; `--fix --write` makes the changes\n")
        }
    };
    if fixed.refused > 0 {
        let findings = counted(fixed.refused, "finding was", "findings were");
        let _ = writeln!(
            text,
            "{findings} not corrected, because the correction would show other mistakes: correct by hand"
        );
    }
    text
}

/// Fails if git does not have a file as it is, because then nothing could bring its content back.
fn refuse_uncommitted(folder: &Path, fixed: &Fixed) -> Result<(), CliError> {
    let help = "commit them first, or give `--allow-uncommitted`";
    let uncommitted = match Repository::of(folder) {
        Ok(repository) => repository.uncommitted()?,
        Err(GitError::NoRepository(_)) => {
            return Err(CliError::new(
                "the sources are not under version control, so nothing could undo the corrections",
            )
            .help("make a git repository of them, or give `--allow-uncommitted`"));
        }
        Err(error) => return Err(error.into()),
    };
    let changed: Vec<&str> = fixed
        .files
        .keys()
        .map(String::as_str)
        .filter(|path| uncommitted.iter().any(|other| is_in(path, other)))
        .collect();
    if changed.is_empty() {
        return Ok(());
    }
    let list = changed.join("`, `");
    let message = if changed.len() == 1 {
        format!("`{list}` has changes that are not committed")
    } else {
        format!("`{list}` have changes that are not committed")
    };
    Err(CliError::new(message).help(help))
}

/// Whether a file is a path that git lists, or in a folder that it lists.
fn is_in(path: &str, listed: &str) -> bool {
    match listed.strip_suffix('/') {
        Some(_) => path.starts_with(listed),
        None => path == listed,
    }
}

/// The bytes of a byte order mark, which is not part of a source's text.
const MARK: &str = "\u{feff}";

/// Writes the edited files, if they are still as they were read.
fn write(world: &Disk, folder: &Path, fixed: &Fixed) -> Result<(), CliError> {
    for (path, (before, after)) in &fixed.files {
        let file = folder.join(path);
        let failed = |reason: &dyn std::fmt::Display| {
            CliError::new(format!("can't correct `{}`: {reason}", file.display()))
        };
        let bytes = world.read(path).map_err(|error| failed(&error))?;
        let (start, text) = match bytes.strip_prefix(MARK.as_bytes()) {
            Some(text) => (MARK, text),
            None => ("", bytes.as_slice()),
        };
        if text != before.as_bytes() {
            return Err(failed(&"it was changed meanwhile").help("run the command again"));
        }
        let content = [start, after].concat();
        replace_file(&file, content.as_bytes()).map_err(|error| failed(&error))?;
    }
    Ok(())
}
