//! The program, for tests that run it as its users do.

use std::path::Path;
use std::process::Command;

/// The `benchleaf` program, to be run in a folder.
pub(crate) fn benchleaf(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_benchleaf"));
    command
        .current_dir(folder)
        .env_remove("BENCHLEAF_TYPST")
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE");
    command
}
