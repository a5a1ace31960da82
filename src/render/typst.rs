//! Where the typst program is, and whether it is the right one.
//!
//! It is looked for in a fixed order and asked for its version once. Anything
//! wrong is a [`TypstError`], and the caller goes on without PDFs.

use std::env;
use std::ffi::OsStr;
use std::fmt;
use std::iter;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A typst program that runs and has the right version.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Typst {
    path: PathBuf,
    version: String,
}

impl Typst {
    /// The version that the sheet templates are written for. Another patch
    /// release of the same series is taken too.
    pub(crate) const WANTED: &'static str = "0.15.1";

    /// How to get the program, as an error's help says it.
    pub(crate) const HELP: &'static str = "get it with `cargo install typst-cli --locked --version 0.15.1`, \
        or name it with `--typst FILE` or in BENCHLEAF_TYPST";

    /// Finds the program: `asked` for by an argument, else named by the
    /// environment `variable`, else in `.tools/bin` of the folder `beside`,
    /// else on `PATH`. An empty variable counts as unset.
    ///
    /// A program that was asked for is taken or refused; no other stands in
    /// for it.
    ///
    /// # Errors
    ///
    /// When there is none, when the one that was found does not run, or when
    /// its version is not 0.15.
    pub(crate) fn find(
        asked: Option<&Path>,
        variable: Option<&OsStr>,
        beside: &Path,
    ) -> Result<Typst, TypstError> {
        Typst::find_on(asked, variable, beside, env::var_os("PATH").as_deref())
    }

    /// [`Typst::find`] with the search path handed in, for tests.
    fn find_on(
        asked: Option<&Path>,
        variable: Option<&OsStr>,
        beside: &Path,
        search: Option<&OsStr>,
    ) -> Result<Typst, TypstError> {
        let named = asked.or_else(|| variable.filter(|text| !text.is_empty()).map(Path::new));
        if let Some(path) = named {
            return Typst::at(path);
        }
        let file = format!("typst{}", env::consts::EXE_SUFFIX);
        let tools = beside.join(".tools").join("bin");
        let searched = search.map(env::split_paths);
        iter::once(tools)
            .chain(searched.into_iter().flatten())
            .map(|folder| folder.join(&file))
            .find(|path| path.is_file())
            .ok_or(TypstError::NotFound)
            .and_then(|path| Typst::at(&path))
    }

    /// Takes the program at a path, if it answers with the right version.
    fn at(path: &Path) -> Result<Typst, TypstError> {
        let fails = |why: String| TypstError::DoesNotRun {
            path: path.to_owned(),
            why,
        };
        if !path.is_file() {
            return Err(fails("there is no such file".to_owned()));
        }
        // A bare name would be looked up on the search path instead.
        let path = std::path::absolute(path).map_err(|why| fails(why.to_string()))?;
        let answer = Command::new(&path)
            .arg("--version")
            .stdin(Stdio::null())
            .output()
            .map_err(|why| fails(why.to_string()))?;
        if !answer.status.success() {
            let said = String::from_utf8_lossy(&answer.stderr);
            return Err(fails(format!("{}: {}", answer.status, said.trim())));
        }
        let said = String::from_utf8_lossy(&answer.stdout);
        let version = said
            .strip_prefix("typst ")
            .and_then(|rest| rest.split_whitespace().next())
            .ok_or_else(|| fails(format!("it answers {:?}", said.trim())))?;
        if !same_series(version, Typst::WANTED) {
            return Err(TypstError::WrongVersion {
                found: version.to_owned(),
                wanted: Typst::WANTED,
                path,
            });
        }
        Ok(Typst {
            path,
            version: version.to_owned(),
        })
    }

    /// Where it is.
    #[must_use]
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// Its version: `0.15.1`.
    #[must_use]
    pub(crate) fn version(&self) -> &str {
        &self.version
    }
}

/// True where two versions differ in the patch number at most. Typst is
/// before 1.0, so its second number is the one that breaks things.
fn same_series(version: &str, wanted: &str) -> bool {
    let series = |text: &str| {
        let mut numbers = text.split('.');
        Some((numbers.next()?.to_owned(), numbers.next()?.to_owned()))
    };
    series(version).is_some() && series(version) == series(wanted)
}

/// Why there is no typst to set sheets with.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum TypstError {
    /// It is in none of the places.
    NotFound,
    /// It is there, but of another version.
    WrongVersion {
        /// Its own.
        found: String,
        /// [`Typst::WANTED`].
        wanted: &'static str,
        /// Where it is.
        path: PathBuf,
    },
    /// It could not be started, or answers as no typst does.
    DoesNotRun {
        /// Where it should be.
        path: PathBuf,
        /// What went wrong.
        why: String,
    },
}

impl TypstError {
    /// What to do about it.
    #[must_use]
    pub(crate) fn help(&self) -> &'static str {
        Typst::HELP
    }
}

impl fmt::Display for TypstError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TypstError::NotFound => {
                f.write_str("typst was found neither in `.tools/bin` nor on the search path")
            }
            TypstError::WrongVersion {
                found,
                wanted,
                path,
            } => write!(
                f,
                "typst at `{}` is version {found}, {wanted} is needed",
                path.display()
            ),
            TypstError::DoesNotRun { path, why } => {
                write!(f, "typst at `{}` does not run: {why}", path.display())
            }
        }
    }
}

impl std::error::Error for TypstError {}

#[cfg(all(test, unix))]
mod tests {
    use std::fs;
    use std::os::unix::fs::PermissionsExt;

    use tempfile::TempDir;

    use super::*;

    /// A folder with programs that answer `--version` as typst would.
    struct Folder(TempDir);

    impl Folder {
        fn new() -> Folder {
            Folder(TempDir::new().expect("a folder for the test"))
        }

        /// Writes a program that runs `body` in a shell.
        fn program(&self, place: &str, body: &str) -> PathBuf {
            let path = self.0.path().join(place);
            fs::create_dir_all(path.parent().expect("it is in the folder")).expect("written");
            fs::write(&path, format!("#!/bin/sh\n{body}\n")).expect("written");
            fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).expect("set");
            path
        }

        fn answering(&self, place: &str, version: &str) -> PathBuf {
            self.program(place, &format!("echo 'typst {version} (a1b2c3d4)'"))
        }

        fn find(
            &self,
            asked: Option<&Path>,
            variable: Option<&OsStr>,
        ) -> Result<Typst, TypstError> {
            let search = self.0.path().join("search");
            Typst::find_on(asked, variable, self.0.path(), Some(search.as_os_str()))
        }
    }

    #[test]
    fn the_places_are_tried_in_order() {
        let folder = Folder::new();
        assert_eq!(folder.find(None, None), Err(TypstError::NotFound));

        let on_path = folder.answering("search/typst", "0.15.0");
        let found = folder.find(None, None).expect("found on the search path");
        assert_eq!((found.path(), found.version()), (&*on_path, "0.15.0"));

        let tools = folder.answering(".tools/bin/typst", "0.15.1");
        let found = folder.find(None, None).expect("found in the tools");
        assert_eq!(found.path(), tools);

        let variable = folder.answering("from-variable", "0.15.2");
        let found = folder
            .find(None, Some(variable.as_os_str()))
            .expect("found by variable");
        assert_eq!(found.path(), variable);

        let asked = folder.answering("asked", "0.15.3");
        let found = folder
            .find(Some(&asked), Some(variable.as_os_str()))
            .expect("found as asked");
        assert_eq!(found.path(), asked);
    }

    #[test]
    fn an_empty_variable_counts_as_unset() {
        let folder = Folder::new();
        let tools = folder.answering(".tools/bin/typst", "0.15.1");
        let found = folder
            .find(None, Some(OsStr::new("")))
            .expect("found in the tools");
        assert_eq!(found.path(), tools);
    }

    #[test]
    fn nothing_stands_in_for_a_program_that_was_asked_for() {
        let folder = Folder::new();
        folder.answering(".tools/bin/typst", "0.15.1");
        let missing = folder.0.path().join("missing");
        let expected = Err(TypstError::DoesNotRun {
            path: missing.clone(),
            why: "there is no such file".to_owned(),
        });
        assert_eq!(folder.find(Some(&missing), None), expected);
        assert_eq!(folder.find(None, Some(missing.as_os_str())), expected);
    }

    #[test]
    fn another_series_is_refused_with_both_versions_named() {
        let folder = Folder::new();
        for version in ["0.14.2", "0.16.0", "1.15.1", "0.150.1"] {
            let path = folder.answering(".tools/bin/typst", version);
            let error = folder.find(None, None).expect_err("another series");
            assert_eq!(
                error.to_string(),
                format!(
                    "typst at `{}` is version {version}, 0.15.1 is needed",
                    path.display()
                )
            );
        }
    }

    #[test]
    fn a_program_that_fails_or_answers_oddly_does_not_run() {
        let folder = Folder::new();
        let failing = folder.program("failing", "echo 'no such library' >&2; exit 3");
        let error = folder.find(Some(&failing), None).expect_err("it fails");
        assert_eq!(
            error.to_string(),
            format!(
                "typst at `{}` does not run: exit status: 3: no such library",
                failing.display()
            )
        );

        let other = folder.program("other", "echo 'make 4.3'");
        let error = folder
            .find(Some(&other), None)
            .expect_err("it is not typst");
        assert_eq!(
            error.to_string(),
            format!(
                "typst at `{}` does not run: it answers \"make 4.3\"",
                other.display()
            )
        );

        let plain = folder.answering("plain", "0.15.1");
        fs::set_permissions(&plain, fs::Permissions::from_mode(0o644)).expect("set");
        let error = folder
            .find(Some(&plain), None)
            .expect_err("it may not be run");
        assert!(matches!(error, TypstError::DoesNotRun { .. }));
    }
}
