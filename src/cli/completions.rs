//! `benchleaf completions`

use super::console::print;
use super::exit::ExitStatus;
use clap::{Args, Command};
use clap_complete::Shell;

/// Write the completions of a shell
///
/// Writes a script to standard output, which completes the names of commands and options after the Tab key. It is for
/// this version of the program.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf completions bash > ~/.local/share/bash-completion/completions/benchleaf
  benchleaf completions zsh > ~/.zfunc/_benchleaf         with `fpath+=~/.zfunc` in .zshrc
  benchleaf completions fish > ~/.config/fish/completions/benchleaf.fish")]
pub(super) struct Arguments {
    /// The shell
    shell: Shell,
}

/// `command` is the definition of the program.
pub(super) fn run(arguments: &Arguments, mut command: Command) -> ExitStatus {
    let mut script = Vec::new();
    let name = command.get_name().to_owned();
    clap_complete::generate(arguments.shell, &mut command, name, &mut script);
    print(&String::from_utf8_lossy(&script));
    ExitStatus::Success
}
