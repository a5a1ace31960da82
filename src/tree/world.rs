//! Access to files: on disk, or in memory for tests and editors.

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The files of a tree.
#[derive(Clone, Debug, Default)]
pub struct Listing {
    /// Paths from the root, with `/` as separator, in byte order.
    pub paths: Vec<String>,
    /// Messages about files that could not be listed. A message is a clause without a full stop.
    pub faults: Vec<String>,
}

/// Access to the files of a tree. Several threads can read at the same time.
///
/// [`Disk`] and [`Memory`] implement it. Another one could read from an archive:
///
/// ```
/// use benchleaf::tree::{Listing, World};
///
/// struct OneFile;
///
/// impl World for OneFile {
///     fn name(&self) -> String {
///         "archive".to_owned()
///     }
///     fn list(&self) -> Listing {
///         Listing { paths: vec!["shop.toml".to_owned()], faults: Vec::new() }
///     }
///     fn read(&self, _path: &str) -> std::io::Result<Vec<u8>> {
///         Ok(b"name = \"Elmbrook workshop\"".to_vec())
///     }
/// }
///
/// assert_eq!(benchleaf::tree::read(&OneFile).files.len(), 1);
/// ```
pub trait World: Sync {
    /// The name of the root, as shown in findings.
    fn name(&self) -> String;
    /// Lists all files below the root.
    fn list(&self) -> Listing;
    /// Reads a file. The path is one of [`Listing::paths`].
    ///
    /// # Errors
    ///
    /// If the file can't be read.
    fn read(&self, path: &str) -> io::Result<Vec<u8>>;
    /// The state of a file, if it is known without reading the file. A file that is too large is then not read, and one
    /// that changes while it is read is read again.
    fn state(&self, _path: &str) -> Option<FileState> {
        None
    }
}

impl<W: World + ?Sized> World for &W {
    fn name(&self) -> String {
        (**self).name()
    }

    fn list(&self) -> Listing {
        (**self).list()
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        (**self).read(path)
    }

    fn state(&self, path: &str) -> Option<FileState> {
        (**self).state(path)
    }
}

/// The size and the time of a file, which show that it has changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FileState {
    /// In bytes.
    pub size: u64,
    /// The time of the last change, if the system gives it.
    pub modified: Option<SystemTime>,
}

/// A folder on disk.
#[derive(Clone, Debug)]
pub struct Disk {
    root: PathBuf,
}

impl Disk {
    /// Opens the folder at `root`.
    ///
    /// # Errors
    ///
    /// If there is no such folder.
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
        let canonical_root = self.root.canonicalize();
        let mut walk = walkdir::WalkDir::new(&self.root)
            .follow_links(true)
            .into_iter()
            // Hidden files belong to editors and version control, not to the tree.
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
            let Ok(relative) = entry.path().strip_prefix(&self.root) else {
                continue;
            };
            let parts: Option<Vec<&str>> = relative.iter().map(|part| part.to_str()).collect();
            let Some(parts) = parts else {
                let shown = relative.display();
                listing
                    .faults
                    .push(format!("the file name `{shown}` is not UTF-8 text"));
                continue;
            };
            let path = parts.join("/");
            // A link out of the tree is refused: its target could change while the tree does not.
            if entry.depth() > 0 && entry.path_is_symlink() {
                let is_inside = match (&canonical_root, entry.path().canonicalize()) {
                    (Ok(root), Ok(target)) => target.starts_with(root),
                    _ => true,
                };
                if !is_inside {
                    listing.faults.push(format!(
                        "`{path}` is a link that leads outside the sources folder"
                    ));
                    if entry.file_type().is_dir() {
                        walk.skip_current_dir();
                    }
                    continue;
                }
            }
            if entry.file_type().is_file() {
                listing.paths.push(path);
            } else if !entry.file_type().is_dir() {
                // Reading it could wait forever.
                listing.faults.push(format!(
                    "`{path}` is a pipe, a device or a socket, and not a file"
                ));
            }
        }
        listing.paths.sort();
        listing
    }

    fn read(&self, path: &str) -> io::Result<Vec<u8>> {
        std::fs::read(self.root.join(path))
    }

    fn state(&self, path: &str) -> Option<FileState> {
        let metadata = std::fs::metadata(self.root.join(path)).ok()?;
        Some(FileState {
            size: metadata.len(),
            modified: metadata.modified().ok(),
        })
    }
}

/// Files in memory, for tests and editors.
///
/// ```
/// use benchleaf::tree::{Memory, read};
///
/// let tree = read(&Memory::new([("shop.toml", "name = \"Elmbrook workshop\"")]));
/// assert_eq!(tree.files[0].path, "shop.toml");
/// ```
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
        let content = self.files.get(path).cloned();
        content.ok_or_else(|| io::Error::from(io::ErrorKind::NotFound))
    }
}
