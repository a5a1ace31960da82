//! The exit status of a command, and the error that stops one.

use crate::finding::{Findings, Level};
use crate::publish::PublishError;
use crate::schema::SchemaError;
use crate::trade;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ExitStatus {
    /// No finding is worse than a warning.
    Success = 0,
    /// The sources have errors.
    SourceErrors = 1,
    /// The command could not run: bad arguments, a missing folder, a PDF that can't be made, or an output that can't be
    /// written.
    CouldNotRun = 2,
}

impl ExitStatus {
    /// The status of a command that checked the sources.
    pub(super) fn of(findings: &Findings) -> ExitStatus {
        if findings.count(Level::Error) > 0 {
            ExitStatus::SourceErrors
        } else {
            ExitStatus::Success
        }
    }
}

/// Why a command could not run, and what the user can do about it.
#[derive(Debug)]
pub(super) struct CliError {
    pub(super) message: String,
    pub(super) help: Option<String>,
    /// Whether the command could run if it read the sources again.
    pub(super) reads_again: bool,
}

impl CliError {
    pub(super) fn new(message: impl Into<String>) -> CliError {
        CliError {
            message: message.into(),
            help: None,
            reads_again: false,
        }
    }

    pub(super) fn help(mut self, help: impl Into<String>) -> CliError {
        self.help = Some(help.into());
        self
    }
}

impl From<SchemaError> for CliError {
    fn from(error: SchemaError) -> CliError {
        let foreign = matches!(error, SchemaError::Foreign(_));
        let error = CliError::new(error.to_string());
        if foreign {
            error.help("name another folder, or move the file away")
        } else {
            error
        }
    }
}

impl From<trade::Error> for CliError {
    fn from(error: trade::Error) -> CliError {
        CliError {
            message: error.to_string(),
            help: error.help().map(Into::into),
            reads_again: false,
        }
    }
}

impl From<PublishError> for CliError {
    fn from(error: PublishError) -> CliError {
        CliError {
            message: error.to_string(),
            help: error.help(),
            reads_again: matches!(error, PublishError::SourcesChanged),
        }
    }
}
