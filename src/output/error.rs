//! The errors of writing an output folder.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// Why an output folder can't be written.
#[derive(Debug)]
pub(crate) enum OutputError {
    /// A file or folder can't be read or written.
    Io {
        /// What was being done, such as "write".
        doing: &'static str,
        path: PathBuf,
        error: io::Error,
    },
    /// Another run is writing to the folder.
    Busy { root: PathBuf },
    /// Two files of this run have the same path.
    Twice {
        /// The path from the output's root.
        path: String,
    },
    /// A file that benchleaf did not write, or a link, is at the path of a file of this run.
    Foreign { path: PathBuf },
    /// The files of a run could not all be moved into the folder.
    HalfNew {
        root: PathBuf,
        error: Box<OutputError>,
    },
}

impl fmt::Display for OutputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OutputError::Io { doing, path, error } => {
                write!(f, "can't {doing} `{}`: {error}", path.display())
            }
            OutputError::Busy { root } => {
                write!(f, "another run is writing to `{}`", root.display())
            }
            OutputError::Twice { path } => write!(
                f,
                "two pages would have the path `{path}`: give the machine or procedure another id"
            ),
            OutputError::HalfNew { root, error } => write!(
                f,
                "`{}` is half new and half old: {error}; the next run completes it, when this is repaired",
                root.display()
            ),
            OutputError::Foreign { path } => write!(
                f,
                "`{}` is in the way: benchleaf did not write it, so it is left alone; \
                 move it, or name another folder with --output",
                path.display()
            ),
        }
    }
}

impl std::error::Error for OutputError {}

/// Returns a function for `map_err` that adds the operation and its path to an error.
pub(super) fn io_error(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> OutputError {
    let path = path.to_owned();
    move |error| OutputError::Io { doing, path, error }
}
