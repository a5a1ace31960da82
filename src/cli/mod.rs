//! The command line, with one file for each command.
//!
//! In: arguments. Out: the text that a command prints, and its exit status.
//! A command only calls a stage and shows its result; the work itself belongs in the stages.

mod bench;
mod bind;
mod calculate;
mod check;
mod completions;
mod console;
mod convert;
mod due;
mod editor;
mod exit;
mod explain;
mod fix;
mod guards;
mod kit;
mod man;
mod mix;
mod open_shop;
mod outline;
mod preview;
mod print;
mod progress;
mod publish;
#[doc(hidden)]
pub mod publishing;
mod rehearse;
mod reports;
mod schema;
mod shared;
mod signals;
mod since;
mod speed;
mod start;
mod torque;
mod version;
mod where_used;

use clap::error::ErrorKind;
use clap::{ColorChoice, CommandFactory as _, Parser, Subcommand, ValueEnum as _};
use console::print_error;
use exit::{CliError, ExitStatus};
use std::ffi::OsString;
use std::process::ExitCode;

const ABOUT: &str = "Compiles a repair shop's machines, parts, values and procedures into checked \
    shop sheets and bench checklists";

const LONG_ABOUT: &str = "\
Benchleaf compiles a repair shop's own data into the sheets its people work from.

The sources are a folder of TOML and Markdown: the shop's machines, and the procedure of each job. \
Benchleaf rehearses every job on every machine it is for, reports what would go wrong with the \
source line, and makes a shop sheet and a bench checklist for each job, in HTML and PDF.";

const AFTER: &str = "\
Examples:
  benchleaf start my-shop                          begin with a few small files
  benchleaf check                                  check the sources in `procedures`
  benchleaf publish my-shop --output /srv/shop     make every sheet of every job
  benchleaf print --procedure float-bowl --machine tarn-yarrow
  benchleaf bind --machine tarn-yarrow             make its manual as one PDF

Exit status:
  0  no errors
  1  errors in the sources
  2  the command could not run: bad arguments, a missing folder, an output that can't be written

`benchleaf COMMAND --help` describes a command.";

#[derive(Debug, Parser)]
#[command(
    name = "benchleaf",
    version,
    about = ABOUT,
    long_about = LONG_ABOUT,
    after_help = AFTER,
    max_term_width = 96,
    disable_help_subcommand = true
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,

    /// Print no progress and no summary, only results, findings and errors
    #[arg(long, short, global = true)]
    quiet: bool,

    /// Whether to colour the output; `auto` follows the terminal and `NO_COLOR`
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    color: ColorChoice,
}

#[derive(Debug, Subcommand)]
enum Command {
    Start(start::Arguments),
    Outline(outline::Arguments),
    Check(check::Arguments),
    Print(print::Arguments),
    Publish(publish::Arguments),
    Preview(preview::Arguments),
    Editor(editor::Arguments),
    Bind(bind::Arguments),
    Kit(kit::Arguments),
    WhereUsed(where_used::Arguments),
    Due(due::Arguments),
    Guards(guards::Arguments),
    Rehearse(rehearse::Arguments),
    Explain(explain::Arguments),
    Schema(schema::Arguments),
    Convert(convert::Arguments),
    Torque(torque::Arguments),
    Speed(speed::Arguments),
    Mix(mix::Arguments),
    Calculate(calculate::Arguments),
    Completions(completions::Arguments),
    Man(man::Arguments),
}

/// Runs the command line of this process.
#[must_use]
pub fn run() -> ExitCode {
    crate::cache::verify(std::env::var_os("BENCHLEAF_VERIFY_CACHE").is_some());
    let status = match Arguments::try_parse() {
        Ok(arguments) => {
            console::set_quiet(arguments.quiet);
            console::set_color(arguments.color);
            match start_threads() {
                Ok(()) => command(arguments.command),
                Err(error) => report(&error) as u8,
            }
        }
        Err(error) => refuse(&error),
    };
    match console::finish() {
        None => ExitCode::from(status),
        Some(error) => {
            let error = CliError::new(format!("standard output can't be written: {error}"));
            ExitCode::from(report(&error) as u8)
        }
    }
}

/// The commands and their arguments.
fn definition() -> clap::Command {
    Arguments::command()
}

/// Prints why the arguments were not accepted. The help and the version, which no command prints, come here too.
fn refuse(error: &clap::Error) -> u8 {
    let typed: Vec<OsString> = std::env::args_os().skip(1).collect();
    console::set_color(typed_color(&typed));
    if error.kind() == ErrorKind::DisplayVersion && typed.iter().any(|word| word == "--version") {
        console::print(&version::long());
    } else {
        console::remember(error.print());
    }
    u8::try_from(error.exit_code()).unwrap_or(ExitStatus::CouldNotRun as u8)
}

/// The choice of `--color` in arguments that were not accepted.
fn typed_color(typed: &[OsString]) -> ColorChoice {
    let mut values = typed.iter().enumerate().filter_map(|(at, word)| {
        let (name, value) = match word.to_str()?.split_once('=') {
            Some((name, value)) => (name, value),
            None => (word.to_str()?, typed.get(at + 1)?.to_str()?),
        };
        (name == "--color").then(|| ColorChoice::from_str(value, false).ok())?
    });
    values.next_back().unwrap_or(ColorChoice::Auto)
}

/// Starts the threads that all stages share. Otherwise the first stage that needs them would start them, and panic if
/// it could not.
fn start_threads() -> Result<(), CliError> {
    let started = rayon::ThreadPoolBuilder::new().build_global();
    started.map_err(|error| {
        let message = format!("can't start the threads of this run: {error}");
        CliError::new(message).help(
            "end other programs, or allow more processes and memory: `ulimit -u`, `ulimit -v`",
        )
    })
}

/// Runs a command, and returns its exit status.
fn command(command: Command) -> u8 {
    let status = match command {
        Command::Start(arguments) => start::run(&arguments),
        Command::Outline(arguments) => outline::run(&arguments),
        Command::Check(arguments) => check::run(&arguments),
        Command::Print(arguments) => print::run(&arguments),
        Command::Publish(arguments) => publish::run(&arguments),
        Command::Preview(arguments) => preview::run(&arguments),
        Command::Editor(arguments) => editor::run(&arguments),
        Command::Bind(arguments) => bind::run(&arguments),
        Command::Kit(arguments) => kit::run(&arguments),
        Command::WhereUsed(arguments) => where_used::run(&arguments),
        Command::Due(arguments) => due::run(&arguments),
        Command::Guards(arguments) => guards::run(&arguments),
        Command::Rehearse(arguments) => rehearse::run(&arguments),
        Command::Explain(arguments) => explain::run(&arguments),
        Command::Schema(arguments) => schema::run(&arguments),
        Command::Convert(arguments) => convert::run(&arguments),
        Command::Torque(arguments) => torque::run(&arguments),
        Command::Speed(arguments) => speed::run(&arguments),
        Command::Mix(arguments) => mix::run(&arguments),
        Command::Calculate(arguments) => calculate::run(&arguments),
        Command::Completions(arguments) => Ok(completions::run(&arguments, definition())),
        Command::Man(arguments) => man::run(&arguments, definition()),
    };
    status.unwrap_or_else(|error| report(&error)) as u8
}

/// Shows why a command could not run.
fn report(error: &CliError) -> ExitStatus {
    let title = annotate_snippets::Level::ERROR.primary_title(error.message.as_str());
    let mut group = annotate_snippets::Group::with_title(title);
    if let Some(help) = &error.help {
        group = group.element(annotate_snippets::Level::HELP.message(help.as_str()));
    }
    let text = annotate_snippets::Renderer::styled().render(&[group]);
    print_error(&format!("{text}\n"));
    ExitStatus::CouldNotRun
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clap_accepts_the_command_definitions() {
        definition().debug_assert();
    }

    #[test]
    fn help_of_every_command_has_an_example() {
        for command in definition().get_subcommands() {
            let help = command.get_after_help().map(ToString::to_string);
            let name = command.get_name();
            assert!(
                help.is_some_and(|help| help.contains(&format!("benchleaf {name}"))),
                "`{name} --help` has no example"
            );
        }
    }
}
