//! Finds the typst program and checks its version.
//!
//! **In**: the places to search. **Out**: a [`Typst`], or a [`TypstError`], after which the caller
//! continues without PDFs. The version is queried once.

use std::env;
use std::ffi::OsStr;
use std::fmt;
use std::io;
use std::iter;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use process_control::{ChildExt as _, Control as _};

/// The time in which a program has to answer what version it is. Typst takes a few milliseconds.
const ANSWER_TIME: Duration = Duration::from_secs(if cfg!(test) { 3 } else { 5 });

/// The most bytes of an answer that are kept.
const ANSWER_BYTES: usize = 1 << 16;

/// A typst program that runs and has the right version.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Typst {
    path: PathBuf,
    version: String,
}

impl Typst {
    /// The version that the sheet templates are written for. Another patch release of it is accepted.
    pub(crate) const REQUIRED: &'static str = "0.15.1";

    /// How to get the program, for error messages.
    pub(crate) const HELP: &'static str = "get it with `cargo install typst-cli --locked --version 0.15.1`, \
        or name it with `--typst FILE` or in BENCHLEAF_TYPST";

    /// Finds the program. Searches in this order: `argument`, the value of the environment `variable`,
    /// `.tools/bin` in `folder`, and `PATH`. An empty variable counts as unset.
    ///
    /// If the argument or the variable is set, there is no fallback to another program.
    ///
    /// # Errors
    ///
    /// If there is no program, if it does not run, or if its version is not 0.15.
    pub(crate) fn find(
        argument: Option<&Path>,
        variable: Option<&OsStr>,
        folder: &Path,
    ) -> Result<Typst, TypstError> {
        Typst::find_on(argument, variable, folder, env::var_os("PATH").as_deref())
    }

    /// [`Typst::find`] with `PATH` as a parameter, for tests.
    fn find_on(
        argument: Option<&Path>,
        variable: Option<&OsStr>,
        folder: &Path,
        search_path: Option<&OsStr>,
    ) -> Result<Typst, TypstError> {
        Typst::locate(argument, variable, folder, search_path)
            .ok_or(TypstError::NotFound)
            .and_then(|path| Typst::at(&path))
    }

    /// The path of the program that [`Typst::find`] uses, with `PATH` as a parameter. Starts nothing.
    pub(crate) fn locate(
        argument: Option<&Path>,
        variable: Option<&OsStr>,
        folder: &Path,
        search_path: Option<&OsStr>,
    ) -> Option<PathBuf> {
        let named = argument.or_else(|| variable.filter(|text| !text.is_empty()).map(Path::new));
        if let Some(path) = named {
            return Some(path.to_owned());
        }
        let file = format!("typst{}", env::consts::EXE_SUFFIX);
        let tools = folder.join(".tools").join("bin");
        let on_path = search_path.map(env::split_paths);
        iter::once(tools)
            .chain(on_path.into_iter().flatten())
            .map(|folder| folder.join(&file))
            .find(|path| path.is_file())
    }

    /// Uses the program at a path, if it has the right version.
    ///
    /// # Errors
    ///
    /// If it does not run, does not answer in time, or has another version.
    pub(crate) fn at(path: &Path) -> Result<Typst, TypstError> {
        let does_not_run = |why: String| TypstError::DoesNotRun {
            path: path.to_owned(),
            why,
        };
        if !path.is_file() {
            return Err(does_not_run("there is no such file".to_owned()));
        }
        // Without this, `Command` would search a bare file name on `PATH`.
        let path = std::path::absolute(path).map_err(|error| does_not_run(error.to_string()))?;
        let child = Command::new(&path)
            .arg("--version")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|error| does_not_run(error.to_string()))?;
        let output = child
            .controlled_with_output()
            .stdout_filter(first_bytes())
            .stderr_filter(first_bytes())
            .time_limit(ANSWER_TIME)
            .terminate_for_timeout()
            .wait()
            .map_err(|error| does_not_run(error.to_string()))?
            .ok_or_else(|| {
                let seconds = ANSWER_TIME.as_secs();
                does_not_run(format!("it does not answer `--version` within {seconds} s"))
            })?;
        if !output.status.success() {
            let stderr = String::from_utf8_lossy(&output.stderr);
            return Err(does_not_run(format!(
                "{}: {}",
                output.status.into_std_lossy(),
                stderr.trim()
            )));
        }
        let stdout = String::from_utf8_lossy(&output.stdout);
        let version = stdout
            .strip_prefix("typst ")
            .and_then(|rest| rest.split_whitespace().next())
            .ok_or_else(|| does_not_run(format!("it answers {:?}", stdout.trim())))?;
        if !same_series(version, Typst::REQUIRED) {
            return Err(TypstError::WrongVersion {
                found: version.to_owned(),
                required: Typst::REQUIRED,
                path,
            });
        }
        Ok(Typst {
            path,
            version: version.to_owned(),
        })
    }

    #[must_use]
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// The version number, such as `0.15.1`.
    #[must_use]
    pub(crate) fn version(&self) -> &str {
        &self.version
    }
}

/// Keeps the first bytes of a stream. A program that is not typst may write without an end.
fn first_bytes() -> impl FnMut(&[u8]) -> io::Result<bool> + Send + 'static {
    let mut left = ANSWER_BYTES;
    move |bytes| {
        let fits = bytes.len() <= left;
        left = left.saturating_sub(bytes.len());
        Ok(fits)
    }
}

/// Whether two versions differ at most in the patch number. Typst is before 1.0, so a new minor version
/// can have breaking changes.
fn same_series(version: &str, required: &str) -> bool {
    let series = |text: &str| {
        let mut numbers = text.split('.');
        Some((numbers.next()?.to_owned(), numbers.next()?.to_owned()))
    };
    series(version).is_some() && series(version) == series(required)
}

/// Why no usable typst was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum TypstError {
    /// It is in none of the searched places.
    NotFound,
    WrongVersion {
        found: String,
        /// [`Typst::REQUIRED`].
        required: &'static str,
        path: PathBuf,
    },
    /// It could not be started, or did not print a typst version.
    DoesNotRun { path: PathBuf, why: String },
}

impl TypstError {
    /// How to get the program, whatever the error.
    pub(crate) const HELP: &'static str = Typst::HELP;
}

impl fmt::Display for TypstError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TypstError::NotFound => {
                f.write_str("typst was found neither in `.tools/bin` nor on the search path")
            }
            TypstError::WrongVersion {
                found,
                required,
                path,
            } => write!(
                f,
                "typst at `{}` is version {found}, {required} is needed",
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

    /// A folder with shell scripts in place of typst.
    struct Folder(TempDir);

    impl Folder {
        fn new() -> Folder {
            Folder(TempDir::new().expect("a temporary folder"))
        }

        /// Writes a shell script.
        fn program(&self, path: &str, body: &str) -> PathBuf {
            let path = self.0.path().join(path);
            fs::create_dir_all(path.parent().expect("a path in the folder")).expect("written");
            fs::write(&path, format!("#!/bin/sh\n{body}\n")).expect("written");
            fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).expect("set");
            path
        }

        /// Writes a script that prints a typst version.
        fn typst(&self, path: &str, version: &str) -> PathBuf {
            self.program(path, &format!("echo 'typst {version} (a1b2c3d4)'"))
        }

        fn find(
            &self,
            argument: Option<&Path>,
            variable: Option<&OsStr>,
        ) -> Result<Typst, TypstError> {
            let search_path = self.0.path().join("search");
            Typst::find_on(
                argument,
                variable,
                self.0.path(),
                Some(search_path.as_os_str()),
            )
        }
    }

    #[test]
    fn argument_precedes_variable_tools_and_search_path() {
        let folder = Folder::new();
        assert_eq!(folder.find(None, None), Err(TypstError::NotFound));

        let on_path = folder.typst("search/typst", "0.15.0");
        let typst = folder.find(None, None).expect("found on the search path");
        assert_eq!((typst.path(), typst.version()), (&*on_path, "0.15.0"));

        let tools = folder.typst(".tools/bin/typst", "0.15.1");
        let typst = folder.find(None, None).expect("found in the tools");
        assert_eq!(typst.path(), tools);

        let variable = folder.typst("from-variable", "0.15.2");
        let typst = folder
            .find(None, Some(variable.as_os_str()))
            .expect("found by variable");
        assert_eq!(typst.path(), variable);

        let argument = folder.typst("argument", "0.15.3");
        let typst = folder
            .find(Some(&argument), Some(variable.as_os_str()))
            .expect("found by argument");
        assert_eq!(typst.path(), argument);
    }

    #[test]
    fn empty_variable_counts_as_unset() {
        let folder = Folder::new();
        let tools = folder.typst(".tools/bin/typst", "0.15.1");
        let typst = folder
            .find(None, Some(OsStr::new("")))
            .expect("found in the tools");
        assert_eq!(typst.path(), tools);
    }

    #[test]
    fn missing_named_program_has_no_fallback() {
        let folder = Folder::new();
        folder.typst(".tools/bin/typst", "0.15.1");
        let missing = folder.0.path().join("missing");
        let expected = Err(TypstError::DoesNotRun {
            path: missing.clone(),
            why: "there is no such file".to_owned(),
        });
        assert_eq!(folder.find(Some(&missing), None), expected);
        assert_eq!(folder.find(None, Some(missing.as_os_str())), expected);
    }

    #[test]
    fn error_for_another_minor_version_names_both_versions() {
        let folder = Folder::new();
        for version in ["0.14.2", "0.16.0", "1.15.1", "0.150.1"] {
            let path = folder.typst(".tools/bin/typst", version);
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
    fn a_program_that_never_answers_is_ended() {
        let folder = Folder::new();
        for (name, body) in [("silent", "exec sleep 60"), ("endless", "exec yes")] {
            let program = folder.program(name, body);
            let error = folder.find(Some(&program), None).expect_err("no answer");
            let text = error.to_string();
            assert!(
                text.contains("does not answer `--version` within 3 s"),
                "{text}"
            );
        }
    }

    #[test]
    fn program_without_typst_version_is_an_error() {
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

        let make = folder.program("make", "echo 'make 4.3'");
        let error = folder.find(Some(&make), None).expect_err("it is not typst");
        assert_eq!(
            error.to_string(),
            format!(
                "typst at `{}` does not run: it answers \"make 4.3\"",
                make.display()
            )
        );

        let not_executable = folder.typst("not-executable", "0.15.1");
        fs::set_permissions(&not_executable, fs::Permissions::from_mode(0o644)).expect("set");
        let error = folder
            .find(Some(&not_executable), None)
            .expect_err("it is not executable");
        assert!(matches!(error, TypstError::DoesNotRun { .. }));
    }
}
