//! Why nothing could be published.

use crate::output::OutputError;
use crate::render::RenderError;
use crate::words::WordsError;
use std::fmt;
use std::path::PathBuf;

/// Why nothing was published.
#[derive(Debug)]
pub(crate) enum PublishError {
    /// The output can't be written.
    Output(OutputError),
    /// A page can't be rendered.
    Render(RenderError),
    /// The shop's own words, in this file, have a fault.
    Words(PathBuf, WordsError),
    /// Broken links: the page and the address of each.
    Links(Vec<(String, String)>),
}

/// At most this many broken links are listed: one fault breaks many.
const FEW_LINKS: usize = 20;

impl fmt::Display for PublishError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PublishError::Output(error) => error.fmt(f),
            PublishError::Render(error) => error.fmt(f),
            PublishError::Words(path, why) => write!(f, "`{}`: {why}", path.display()),
            PublishError::Links(broken) => {
                write!(f, "nothing was written, because links would lead nowhere:")?;
                for (page, address) in broken.iter().take(FEW_LINKS) {
                    write!(f, "\n  `{address}` on `{page}`")?;
                }
                match broken.len().saturating_sub(FEW_LINKS) {
                    0 => Ok(()),
                    more => write!(f, "\n  and {more} more"),
                }
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
