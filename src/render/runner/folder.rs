//! Writes files into the work folder.

use crate::render::RenderError;
use std::fs;
use std::path::{Component, Path, PathBuf};

/// Writes a file, and creates its folder.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), RenderError> {
    let io_error = |error| RenderError::Io {
        path: path.to_owned(),
        error,
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(io_error)?;
    }
    fs::write(path, bytes).map_err(io_error)
}

/// Checks that a path stays inside the folder that it is joined to.
pub(super) fn checked_path(path: &str) -> Result<PathBuf, RenderError> {
    let parts: Vec<Component> = Path::new(path).components().collect();
    let is_normal = |part: &Component| matches!(part, Component::Normal(_));
    if parts.is_empty() || !parts.iter().all(is_normal) {
        return Err(RenderError::FigurePath {
            path: path.to_owned(),
        });
    }
    Ok(parts.iter().collect())
}
