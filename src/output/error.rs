//! Why an output folder can't be written.

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
        /// To which file.
        path: PathBuf,
        /// Why not.
        error: io::Error,
    },
    /// Another run is writing to it.
    Busy {
        /// The folder.
        root: PathBuf,
    },
    /// Two files of this run have the same path.
    Twice {
        /// The path from the output's root.
        path: String,
    },
    /// A file that is not ours, or a link, is at the path of a file that has to be written.
    Foreign {
        /// The file.
        path: PathBuf,
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
                "two pages would stand at `{path}`: a machine or a procedure has to have another id"
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

/// Makes the error of an operation on a path, for `map_err`.
pub(super) fn failed(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> OutputError {
    let path = path.to_owned();
    move |error| OutputError::Io { doing, path, error }
}
