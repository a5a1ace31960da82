//! Access to files: on disk, or in memory for tests and editors.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

/// The files of a tree.
#[derive(Clone, Debug, Default)]
pub struct Listing {
    /// Paths from the root, with `/`, in byte order.
    pub paths: Vec<String>,
    /// What could not be listed. Each is a clause without a full stop.
    pub faults: Vec<String>,
}

/// Access to the files of a tree. Several threads read at the same time.
pub trait World: Sync {
    /// The name of the root.
    fn name(&self) -> String;
    /// All files below the root.
    fn list(&self) -> Listing;
    /// The content of a file.
    ///
    /// # Errors
    ///
    /// When the file can't be read.
    fn read(&self, path: &str) -> io::Result<Vec<u8>>;
}

/// A folder on disk.
#[derive(Clone, Debug)]
pub struct Disk {
    root: PathBuf,
}

impl Disk {
    /// The folder at `root`.
    ///
    /// # Errors
    ///
    /// When there is no such folder.
    pub fn open(root: &Path) -> io::Result<Disk> {
        if std::fs::metadata(root)?.is_dir() {
            Ok(Disk {
                root: root.to_owned(),
            })
        } else {
            Err(io::Error::new(io::ErrorKind::NotADirectory, "not a folder"))
        }
    }
}

impl World for Disk {
    fn name(&self) -> String {
        let name = self.root.to_string_lossy();
        name.trim_end_matches('/').to_owned()
    }

    fn list(&self) -> Listing {
        let mut listing = Listing::default();
        let real_root = self.root.canonicalize();
        let mut walk = walkdir::WalkDir::new(&self.root)
            .follow_links(true)
            .into_iter()
            // Hidden files belong to editors and version control.
            .filter_entry(|entry| {
                entry.depth() == 0 || !entry.file_name().to_string_lossy().starts_with('.')
            });
        while let Some(entry) = walk.next() {
            let entry = match entry {
                Ok(entry) => entry,
                Err(error) => {
                    listing.faults.push(error.to_string());
                    continue;
                }
            };
            let Ok(below) = entry.path().strip_prefix(&self.root) else {
                continue;
            };
            let parts: Option<Vec<&str>> = below.iter().map(|part| part.to_str()).collect();
            let Some(parts) = parts else {
                let shown = below.display();
                listing
                    .faults
                    .push(format!("the file name `{shown}` is not UTF-8 text"));
                continue;
            };
            let path = parts.join("/");
            // The target of a link to outside could change without a change of the tree.
            if entry.depth() > 0 && entry.path_is_symlink() {
                let inside = match (&real_root, entry.path().canonicalize()) {
                    (Ok(root), Ok(real)) => real.starts_with(root),
                    _ => true,
                };
                if !inside {
                    listing
                        .faults
                        .push(format!("`{path}` is a link that leads out of the tree"));
                    if entry.file_type().is_dir() {
                        walk.skip_current_dir();
                    }
                    continue;
                }
            }
            if entry.file_type().is_file() {
                listing.paths.push(path);
            }
        }
        listing.paths.sort();
        listing
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        std::fs::read(self.root.join(path))
    }
}

/// Files held in memory.
#[derive(Clone, Debug, Default)]
pub struct Memory {
    files: BTreeMap<String, Vec<u8>>,
}

impl Memory {
    /// Files by path and content.
    pub fn new<P: Into<String>, C: Into<Vec<u8>>>(
        files: impl IntoIterator<Item = (P, C)>,
    ) -> Memory {
        let files = files
            .into_iter()
            .map(|(path, content)| (path.into(), content.into()))
            .collect();
        Memory { files }
    }
}

impl World for Memory {
    fn name(&self) -> String {
        "procedures".to_owned()
    }

    fn list(&self) -> Listing {
        Listing {
            paths: self.files.keys().cloned().collect(),
            faults: Vec::new(),
        }
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        let found = self.files.get(path).cloned();
        found.ok_or_else(|| io::Error::from(io::ErrorKind::NotFound))
    }
}
