//! `benchleaf man`

use super::console::{print, print_summary};
use super::exit::{CliError, ExitStatus};
use super::shared::counted;
use clap::{Args, Command};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// Write the man pages
///
/// With a folder, writes a page for the program and one for each command into it. Without one, writes the page of the
/// program to standard output.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf man | man -l -                     read the page of the program
  benchleaf man ~/.local/share/man/man1        install all pages, for `man benchleaf-publish`")]
pub(super) struct Arguments {
    /// The folder; it is made if there is none
    #[arg(value_name = "DIR")]
    folder: Option<PathBuf>,
}

/// `command` is the definition of the program.
pub(super) fn run(arguments: &Arguments, mut command: Command) -> Result<ExitStatus, CliError> {
    command.build();
    let Some(folder) = &arguments.folder else {
        print(&page(&command)?);
        return Ok(ExitStatus::Success);
    };
    let failed = |path: &Path, error: &io::Error| {
        let path = path.display();
        CliError::new(format!("can't write `{path}`: {error}"))
    };
    fs::create_dir_all(folder).map_err(|error| failed(folder, &error))?;
    let commands: Vec<&Command> = std::iter::once(&command)
        .chain(command.get_subcommands())
        .collect();
    for command in &commands {
        let path = folder.join(Man::new((*command).clone()).get_filename());
        if fs::read_to_string(&path).is_ok_and(|text| !text.contains(MARK)) {
            let path = path.display();
            return Err(
                CliError::new(format!("`{path}` is not a page of benchleaf"))
                    .help("move the file, or name another folder"),
            );
        }
        fs::write(&path, page(command)?).map_err(|error| failed(&path, &error))?;
    }
    print_summary(&format!(
        "{} in {}\n",
        counted(commands.len(), "page", "pages"),
        folder.display()
    ));
    Ok(ExitStatus::Success)
}

/// The start of the line that names the program, by which a page is recognized.
const MARK: &str = "\n.TH benchleaf";

/// The page of a command.
fn page(command: &Command) -> Result<String, CliError> {
    let program = concat!("benchleaf ", env!("CARGO_PKG_VERSION"));
    let man = Man::new(command.clone()).source(program);
    let mut page = Vec::new();
    let sections = [
        Man::render_title,
        Man::render_name_section,
        Man::render_synopsis_section,
        Man::render_description_section,
        Man::render_options_section,
    ];
    let mut write = || -> io::Result<()> {
        for section in sections {
            section(&man, &mut page)?;
        }
        if command.has_subcommands() {
            man.render_subcommands_section(&mut page)?;
        }
        after(command).to_writer(&mut page)
    };
    // Writing to memory does not fail.
    write().map_err(|error| CliError::new(format!("can't make the page: {error}")))?;
    Ok(String::from_utf8_lossy(&page).into_owned())
}

/// What follows the options in the help: examples and the exit status, each under its heading. Its lines are in columns,
/// which the library would join to a paragraph.
fn after(command: &Command) -> Roff {
    let mut roff = Roff::new();
    let help = command.get_after_help().map(ToString::to_string);
    let mut is_open = false;
    for line in help.unwrap_or_default().lines() {
        if let Some(title) = line.strip_suffix(':').filter(|_| !line.starts_with(' ')) {
            if is_open {
                roff.control("fi", []);
            }
            roff.control("SH", [title.to_uppercase().as_str()]);
            roff.control("nf", []);
            is_open = true;
        } else if is_open {
            roff.text([roman(line)]);
        }
    }
    if is_open {
        roff.control("fi", []);
    }
    roff
}
