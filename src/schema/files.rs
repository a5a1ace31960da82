//! Writes schemas into files.

use super::FileKind;
use super::write::schema;
use std::fmt;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Why schemas can't be written into a folder.
#[derive(Debug)]
pub(crate) enum SchemaError {
    Io(PathBuf, io::Error),
    /// The path is not that of a schema which an earlier run wrote.
    Foreign(PathBuf),
}

impl fmt::Display for SchemaError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SchemaError::Io(path, error) => {
                write!(f, "`{}` can't be written: {error}", path.display())
            }
            SchemaError::Foreign(path) => write!(
                f,
                "`{}` is not a schema that Benchleaf wrote, and is not overwritten",
                path.display()
            ),
        }
    }
}

impl std::error::Error for SchemaError {}

/// The schema of a kind of file as JSON, with a line break at its end.
#[must_use]
pub(crate) fn text(kind: FileKind) -> String {
    let mut text = serde_json::to_string_pretty(&schema(kind)).unwrap_or_default();
    text.push('\n');
    text
}

/// Writes the schemas of some kinds into a folder, each as `KIND.schema.json`, and returns their paths. The folder is
/// made if it is missing.
///
/// # Errors
///
/// If a path has something else than a schema of an earlier run, nothing is written. If the folder or a file can't be
/// written.
pub(crate) fn write_files(folder: &Path, kinds: &[FileKind]) -> Result<Vec<PathBuf>, SchemaError> {
    let mut files = Vec::new();
    for kind in kinds {
        let path = folder.join(format!("{}.schema.json", kind.name()));
        let text = text(*kind);
        if !is_free(&path, &text)? {
            return Err(SchemaError::Foreign(path));
        }
        files.push((path, text));
    }
    let failed = |path: &Path| {
        let path = path.to_owned();
        |error| SchemaError::Io(path, error)
    };
    fs::create_dir_all(folder).map_err(failed(folder))?;
    for (path, text) in &files {
        fs::write(path, text).map_err(failed(path))?;
    }
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

/// Whether there is no file at a path, or one that begins like the text of a schema: with the line that says which command
/// wrote it.
fn is_free(path: &Path, text: &str) -> Result<bool, SchemaError> {
    let failed = |error| SchemaError::Io(path.to_owned(), error);
    match fs::symlink_metadata(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(true),
        Err(error) => Err(failed(error)),
        Ok(metadata) if metadata.is_file() => {
            let head = |text: &[u8]| -> Vec<Vec<u8>> {
                let lines = text.split(|byte| *byte == b'\n').take(3);
                lines.map(<[u8]>::to_vec).collect()
            };
            let old = fs::read(path).map_err(failed)?;
            Ok(head(&old) == head(text.as_bytes()))
        }
        Ok(_) => Ok(false),
    }
}
