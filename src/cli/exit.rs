//! How a command ends.

use crate::finding::{Findings, Level};
use crate::trade;

/// The exit status of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ExitStatus {
    /// There is nothing worse than warnings.
    Success = 0,
    /// The sources have errors.
    SourceErrors = 1,
    /// The command could not run: bad arguments, no such folder, an output that can't be written.
    CouldNotRun = 2,
}

impl ExitStatus {
    /// The status of a command that found something in the sources.
    pub(super) fn of(findings: &Findings) -> ExitStatus {
        if findings.count(Level::Error) > 0 {
            ExitStatus::SourceErrors
        } else {
            ExitStatus::Success
        }
    }
}

/// Why a command could not run, and what would help.
#[derive(Debug)]
pub(super) struct CliError {
    pub(super) message: String,
    pub(super) help: Option<String>,
}

impl CliError {
    pub(super) fn new(message: impl Into<String>) -> CliError {
        CliError {
            message: message.into(),
            help: None,
        }
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> CliError {
        self.help = Some(help.into());
        self
    }
}

impl From<trade::Error> for CliError {
    fn from(error: trade::Error) -> CliError {
        CliError {
            message: error.to_string(),
            help: error.help().map(Into::into),
        }
    }
}
