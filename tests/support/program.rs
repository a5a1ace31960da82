//! The `benchleaf` program, for end-to-end tests.

use std::path::Path;
use std::process::Command;

/// A command that runs `benchleaf` in a folder, without the variables that change its output.
pub(crate) fn benchleaf(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_benchleaf"));
    command
        .current_dir(folder)
        .env_remove("BENCHLEAF_TYPST")
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE");
    command
}
