//! The errors of publishing.

use crate::output::OutputError;
use crate::render::{RenderError, TypstError};
use crate::words::WordsError;
use std::fmt;
use std::path::PathBuf;

/// Why nothing was published.
#[derive(Debug)]
pub(crate) enum PublishError {
    Output(OutputError),
    Render(RenderError),
    /// The shop's own words file, at this path, has an error.
    Words(PathBuf, WordsError),
    /// The sources changed while the pages were made.
    SourcesChanged,
    /// Broken links: the page and the address of each.
    Links(Vec<(String, String)>),
    /// There is no typesetter, and the run was to make PDFs.
    NoTypesetter(TypstError),
    /// PDFs that could not be made: the path of each and why. Sorted by path.
    Pdfs(Vec<(String, RenderError)>),
}

impl PublishError {
    /// What the user can do about it.
    pub(crate) fn help(&self) -> Option<String> {
        match self {
            PublishError::NoTypesetter(_) => Some(format!(
                "{}; `--html-only` makes the pages without PDFs",
                TypstError::HELP
            )),
            PublishError::Pdfs(_) => Some(
                "correct what the messages name; `--html-only` makes the pages without PDFs"
                    .to_owned(),
            ),
            _ => None,
        }
    }
}

/// The most broken links that the message lists. A single error can break many links.
const MAX_LISTED_LINKS: usize = 20;

impl fmt::Display for PublishError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PublishError::Output(error) => error.fmt(f),
            PublishError::Render(error) => error.fmt(f),
            PublishError::Words(path, error) => write!(f, "`{}`: {error}", path.display()),
            PublishError::SourcesChanged => {
                write!(
                    f,
                    "the sources change while the pages are made: nothing was written"
                )
            }
            PublishError::Links(broken) => {
                write!(f, "nothing was written, because some links have no target:")?;
                for (page, address) in broken.iter().take(MAX_LISTED_LINKS) {
                    write!(f, "\n  `{address}` on `{page}`")?;
                }
                match broken.len().saturating_sub(MAX_LISTED_LINKS) {
                    0 => Ok(()),
                    more => write!(f, "\n  and {more} more"),
                }
            }
            PublishError::NoTypesetter(error) => write!(f, "nothing was written: {error}"),
            PublishError::Pdfs(failed) => {
                write!(f, "nothing was written, because some PDFs can't be made:")?;
                for (path, error) in failed {
                    write!(f, "\n  `{path}`: {error}")?;
                }
                Ok(())
            }
        }
    }
}

impl std::error::Error for PublishError {}

impl From<OutputError> for PublishError {
    fn from(error: OutputError) -> PublishError {
        PublishError::Output(error)
    }
}

impl From<RenderError> for PublishError {
    fn from(error: RenderError) -> PublishError {
        PublishError::Render(error)
    }
}
