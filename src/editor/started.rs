//! What commands have started.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Child;

/// What commands have started, and leave behind until the session ends.
#[derive(Debug, Default)]
pub(super) struct Started {
    pub(super) previews: BTreeMap<PathBuf, Preview>,
    /// The folder of the texts that the client shows.
    pub(super) texts: Option<tempfile::TempDir>,
}

#[derive(Debug)]
pub(super) struct Preview {
    pub(super) process: Child,
    /// Such as `http://127.0.0.1:40123/`.
    pub(super) address: String,
}

impl Drop for Preview {
    fn drop(&mut self) {
        // An error means that it has ended.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}
