//! Writes the findings of a check in the formats that are asked for.

use super::console::{print, print_error};
use super::exit::CliError;
use crate::Sources;
use crate::finding::Findings;
use crate::output::replace_file;
use crate::report::{self, CheckedJob, Format, Report};
use clap::Args;
use clap::builder::PossibleValue;
use std::path::{Path, PathBuf};

impl clap::ValueEnum for Format {
    fn value_variants<'a>() -> &'a [Format] {
        &Format::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.name()))
    }
}

/// How findings are shown, and the files that they are written to.
#[derive(Debug, Args)]
pub(super) struct ReportArguments {
    /// The format of what is shown
    #[arg(long, value_name = "FORMAT", value_enum, default_value = "text")]
    format: Format,

    /// Also write the findings to a file, in a format; can be given several times
    #[arg(long, value_name = "FORMAT=FILE", value_parser = file_report)]
    report: Vec<(Format, PathBuf)>,

    /// Show all findings, however many there are
    #[arg(long)]
    all: bool,
}

fn file_report(text: &str) -> Result<(Format, PathBuf), String> {
    let names = || Format::ALL.map(Format::name).join(", ");
    let (name, path) = text
        .split_once('=')
        .filter(|(_, path)| !path.is_empty())
        .ok_or("write it as `FORMAT=FILE`, such as `sarif=findings.sarif`")?;
    let format = Format::ALL.into_iter().find(|format| format.name() == name);
    let format = format.ok_or_else(|| format!("there is no format `{name}`, only {}", names()))?;
    Ok((format, PathBuf::from(path)))
}

/// What is reported.
pub(super) struct Subject<'s> {
    pub(super) sources: &'s Sources,
    /// The sources folder.
    pub(super) folder: &'s Path,
    pub(super) findings: &'s Findings,
    pub(super) jobs: &'s [CheckedJob],
    pub(super) notes: &'s [String],
    pub(super) affected: Option<&'s [String]>,
}

impl ReportArguments {
    /// Whether people read what is shown.
    pub(super) fn is_text(&self) -> bool {
        self.format == Format::Text
    }

    /// Shows the findings and writes the files.
    pub(super) fn write(&self, subject: &Subject<'_>) -> Result<(), CliError> {
        let folder = folder_in_repository(subject.folder);
        let report = Report {
            tree: &subject.sources.tree,
            findings: subject.findings,
            folder: &folder,
            jobs: subject.jobs,
            site: subject.sources.shop.address.as_deref(),
            notes: subject.notes,
            affected: subject.affected,
        };
        for (format, path) in &self.report {
            let text = report::render(&report, *format, false);
            replace_file(path, text.as_bytes()).map_err(|error| {
                CliError::new(format!("can't write `{}`: {error}", path.display()))
            })?;
        }
        if self.is_text() {
            let (tree, findings) = (report.tree, report.findings);
            print_error(&if self.all {
                report::terminal(tree, findings, true)
            } else {
                report::terminal_worst(tree, findings, true)
            });
            print(&report::closing(&report));
        } else {
            print(&report::render(&report, self.format, false));
        }
        Ok(())
    }
}

/// The path of a folder from the root of its git repository, with `/` as separator, because other programs look for the
/// files there. Outside of a repository, from the current folder if it is in it. Empty if it is the root itself.
pub(super) fn folder_in_repository(folder: &Path) -> String {
    let resolved = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    let is_root = |folder: &&Path| folder.join(".git").exists();
    let current = std::env::current_dir().unwrap_or_default();
    let root = resolved.ancestors().find(is_root).unwrap_or(&current);
    let relative = resolved.strip_prefix(root).unwrap_or(folder);
    let parts = relative
        .components()
        .map(|part| part.as_os_str().to_string_lossy());
    let parts: Vec<_> = parts.filter(|part| part != "/").collect();
    parts.join("/")
}
