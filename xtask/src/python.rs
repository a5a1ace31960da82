//! The Python packages that check our formats in the tests, in a virtual environment of the project.

use super::{TaskError, note, run};
use std::fs;
use std::path::Path;
use std::process::Command;

/// The packages with their versions, from the project's root.
const REQUIREMENTS: &str = "tests/python/requirements.txt";

/// The environment, from the project's root. The tests run its `bin/python`.
const ENVIRONMENT: &str = ".tools/python";

/// Installs the packages into the environment, unless those of the same requirements are there.
pub(crate) fn install(root: &Path) -> Result<(), TaskError> {
    let environment = root.join(ENVIRONMENT);
    let installed = environment.join("requirements.txt");
    let wanted = fs::read(root.join(REQUIREMENTS))
        .map_err(|error| TaskError(format!("`{REQUIREMENTS}`: {error}")))?;
    if fs::read(&installed).is_ok_and(|installed| installed == wanted) {
        return Ok(());
    }
    note("installing the Python packages that the tests need");
    run(Command::new("virtualenv")
        .args(["--quiet", "--clear"])
        .arg(&environment))?;
    run(Command::new(environment.join("bin/python"))
        .args(["-m", "pip", "install", "--quiet", "--no-deps"])
        .args(["--disable-pip-version-check", "--requirement", REQUIREMENTS]))?;
    // Written last, so that an installation that was stopped is done again.
    fs::write(&installed, wanted)
        .map_err(|error| TaskError(format!("`{}`: {error}", installed.display())))
}
