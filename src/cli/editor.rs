//! `benchleaf editor`

use super::exit::{CliError, ExitStatus};
use crate::editor;
use clap::Args;
use std::io::{BufReader, stdin, stdout};

/// Serve an editor: findings and fixes while you type
///
/// A language server: an editor starts it and talks to it over standard input and output. It reports
/// findings in text that is not saved yet, offers fixes, completes actions and ids, shows what a step
/// does to which machine, and renames ids across the sources. `docs/editors.md` shows the set-up for
/// several editors.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf editor                             started by an editor, in any folder")]
pub(super) struct Arguments {
    /// Accepted because some editors add it; there is no other way to connect
    #[arg(long, hide = true)]
    stdio: bool,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let Arguments { stdio: _ } = arguments;
    let served = editor::serve(BufReader::new(stdin()), stdout());
    match served {
        Ok(true) => Ok(ExitStatus::Success),
        // The protocol asks for exit status 1.
        Ok(false) => Ok(ExitStatus::SourceErrors),
        Err(error) => Err(CliError::new(format!(
            "the editor can't be served: {error}"
        ))),
    }
}
