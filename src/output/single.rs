//! Writes single files outside the output folder: reports, and sources that are corrected.

use std::fs;
use std::io::{self, Write as _};
use std::path::Path;

/// Replaces a file, or makes it: its content is complete at any time. An existing file keeps its permissions, and a link
/// leads to the new content.
///
/// # Errors
///
/// If the file or its folder can't be written.
pub(crate) fn replace_file(path: &Path, content: &[u8]) -> io::Result<()> {
    let path = path.canonicalize().unwrap_or_else(|_| path.to_owned());
    let existing = fs::metadata(&path).ok();
    if existing.as_ref().is_some_and(|file| !file.is_file()) {
        // A pipe or a device can't be replaced, only written to.
        return fs::OpenOptions::new()
            .write(true)
            .open(&path)?
            .write_all(content);
    }
    if let Some(existing) = &existing
        && existing.permissions().readonly()
    {
        return Err(io::ErrorKind::PermissionDenied.into());
    }
    let folder = match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".benchleaf-");
    // The mask of the process applies, as to any file that people make.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(content)?;
    if let Some(existing) = existing {
        file.as_file().set_permissions(existing.permissions())?;
    }
    file.as_file().sync_all()?;
    file.persist(&path)?;
    Ok(())
}
