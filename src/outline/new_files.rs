//! Creates files that are not there.

use std::fmt;
use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// A file to create.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct NewFile {
    /// From the sources folder, with `/` as separator.
    pub(crate) path: String,
    pub(crate) text: String,
}

/// Why files could not be created. None of them is there then.
#[derive(Debug)]
pub(crate) enum NewFileError {
    /// A file with that path is there.
    Exists(PathBuf),
    /// A folder of the path is a link that leads out of the sources folder.
    LeadsOutside(PathBuf),
    /// The system refused to create the file or folder.
    Failed(PathBuf, io::Error),
}

impl fmt::Display for NewFileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NewFileError::Exists(path) => {
                write!(f, "`{}` exists, and is not overwritten", path.display())
            }
            NewFileError::LeadsOutside(path) => write!(
                f,
                "`{}` is a link that leads outside the sources folder",
                path.display()
            ),
            NewFileError::Failed(path, error) => {
                write!(f, "`{}` can't be created: {error}", path.display())
            }
        }
    }
}

/// Creates files below a folder, which is created as well if it is not there. Its own parent has to be there.
///
/// # Errors
///
/// If a file is there, or can't be created. What was created before is removed again.
pub(crate) fn create(root: &Path, files: &[NewFile]) -> Result<(), NewFileError> {
    let mut created = Created::default();
    created.folder(root)?;
    let canonical = root
        .canonicalize()
        .map_err(|error| NewFileError::Failed(root.to_owned(), error))?;
    for file in files {
        let path = root.join(&file.path);
        if let Some(parent) = path.parent() {
            created.folder(parent)?;
            let is_inside = parent
                .canonicalize()
                .is_ok_and(|parent| parent.starts_with(&canonical));
            if !is_inside {
                return Err(NewFileError::LeadsOutside(parent.to_owned()));
            }
        }
        created.file(&path, &file.text)?;
    }
    created.keep();
    Ok(())
}

/// What was created so far. It is removed when this is dropped, unless it is kept.
#[derive(Default)]
struct Created {
    files: Vec<PathBuf>,
    folders: Vec<PathBuf>,
}

impl Created {
    fn folder(&mut self, path: &Path) -> Result<(), NewFileError> {
        if path.is_dir() {
            return Ok(());
        }
        match fs::create_dir(path) {
            Ok(()) => {
                self.folders.push(path.to_owned());
                Ok(())
            }
            // Another run may have made it meanwhile.
            Err(_) if path.is_dir() => Ok(()),
            Err(error) => Err(NewFileError::Failed(path.to_owned(), error)),
        }
    }

    fn file(&mut self, path: &Path, text: &str) -> Result<(), NewFileError> {
        // Never a file that is there, nor the target of a link.
        let opened = OpenOptions::new().write(true).create_new(true).open(path);
        let mut file = match opened {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                return Err(NewFileError::Exists(path.to_owned()));
            }
            Err(error) => return Err(NewFileError::Failed(path.to_owned(), error)),
        };
        self.files.push(path.to_owned());
        let written = file
            .write_all(text.as_bytes())
            .and_then(|()| file.sync_all());
        written.map_err(|error| NewFileError::Failed(path.to_owned(), error))
    }

    fn keep(mut self) {
        self.files.clear();
        self.folders.clear();
    }
}

impl Drop for Created {
    fn drop(&mut self) {
        // Whatever can't be removed is reported by the next run, which finds it there.
        for file in self.files.iter().rev() {
            let _ = fs::remove_file(file);
        }
        for folder in self.folders.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str) -> NewFile {
        NewFile {
            path: path.to_owned(),
            text: "new".to_owned(),
        }
    }

    #[test]
    fn files_are_created_or_none_is() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path().join("shop");
        create(&root, &[file("shop.toml"), file("air/a.md")]).unwrap();
        assert_eq!(fs::read_to_string(root.join("air/a.md")).unwrap(), "new");
        fs::write(root.join("shop.toml"), "old").unwrap();
        let error = create(&root, &[file("fuel/b.md"), file("shop.toml")]).unwrap_err();
        assert!(matches!(error, NewFileError::Exists(_)), "{error}");
        assert_eq!(fs::read_to_string(root.join("shop.toml")).unwrap(), "old");
        assert!(!root.join("fuel").exists());
    }

    #[test]
    fn a_missing_parent_and_a_file_in_the_place_of_a_folder_are_errors() {
        let folder = tempfile::tempdir().unwrap();
        let missing = create(&folder.path().join("a/b"), &[file("shop.toml")]);
        assert!(
            matches!(missing, Err(NewFileError::Failed(..))),
            "{missing:?}"
        );
        assert!(!folder.path().join("a").exists());
        fs::write(folder.path().join("c"), "").unwrap();
        let taken = create(&folder.path().join("c"), &[file("shop.toml")]);
        assert!(matches!(taken, Err(NewFileError::Failed(..))), "{taken:?}");
    }

    #[cfg(unix)]
    #[test]
    fn links_are_not_followed() {
        let folder = tempfile::tempdir().unwrap();
        let (root, outside) = (folder.path().join("shop"), folder.path().join("outside"));
        fs::create_dir_all(&root).unwrap();
        fs::create_dir_all(&outside).unwrap();
        std::os::unix::fs::symlink(&outside, root.join("air")).unwrap();
        let error = create(&root, &[file("air/a.md")]).unwrap_err();
        assert!(matches!(error, NewFileError::LeadsOutside(_)), "{error}");
        std::os::unix::fs::symlink(outside.join("target"), root.join("tools.toml")).unwrap();
        let error = create(&root, &[file("tools.toml")]).unwrap_err();
        assert!(matches!(error, NewFileError::Exists(_)), "{error}");
        assert_eq!(fs::read_dir(&outside).unwrap().count(), 0);
    }
}
