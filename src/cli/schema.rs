//! `benchleaf schema`

use super::console::print;
use super::exit::{CliError, ExitStatus};
use super::shared::require_known;
use crate::schema::{FileKind, text, write_files};
use clap::Args;
use std::path::PathBuf;

/// Write the JSON Schema of a kind of file, for editors that complete and check TOML
///
/// A schema describes every field of the files of a kind: what it means, what it can hold, and examples. It is draft 7
/// of JSON Schema. What it rejects, `benchleaf check` rejects too; names of other files and values are only checked by
/// `benchleaf check`. Without a kind, lists the kinds.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf schema machine
  benchleaf schema --output my-shop/.schemas    every schema, each in a file
  #:schema ../.schemas/machine.schema.json      the first line of a machine file, for editors")]
pub(super) struct Arguments {
    /// The kind of file
    #[arg(value_name = "KIND")]
    kind: Option<String>,

    /// Write into this folder, a file for each kind or only for KIND: `machine.schema.json`
    #[arg(long, value_name = "FOLDER")]
    output: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let kind = match &arguments.kind {
        None => None,
        Some(name) => {
            let names = FileKind::ALL.map(FileKind::name);
            require_known("kind of file", name, names)?;
            FileKind::ALL.into_iter().find(|kind| kind.name() == name)
        }
    };
    match (&arguments.output, kind) {
        (Some(folder), kind) => {
            let kinds = kind.map_or(FileKind::ALL.to_vec(), |kind| vec![kind]);
            for path in write_files(folder, &kinds)? {
                print(&format!("{}\n", path.display()));
            }
        }
        (None, Some(kind)) => print(&text(kind)),
        (None, None) => {
            for kind in FileKind::ALL {
                print(&format!("{:9}  {}\n", kind.name(), kind.files()));
            }
        }
    }
    Ok(ExitStatus::Success)
}
