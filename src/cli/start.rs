//! `benchleaf start`

use super::console::{print, print_error};
use super::exit::{CliError, ExitStatus};
use super::shared::{quoted_argument, show, shown_path};
use crate::outline::{self, GallonChoice, NewFileError, NewShop, PAPERS, UnitChoice};
use crate::tree::Memory;
use clap::Args;
use clap::builder::PossibleValuesParser;
use std::io::{self, BufRead, IsTerminal as _, Write};
use std::path::{Path, PathBuf};

/// Begin a new shop: a few small files that check clean, with comments that teach
///
/// Creates a folder with one machine and one procedure as an example. Change them, or add your
/// own and remove them. At a terminal, whatever no option gives is asked; press Enter for the
/// answer in brackets. No file is ever overwritten.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf start my-shop
  benchleaf start my-shop --language en-US --paper Letter --units inch-metric --gallons us")]
pub(super) struct Arguments {
    /// The folder to create
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,

    /// The shop's name, which is printed at the top of every sheet
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,

    /// The language of the sheets
    #[arg(long, value_name = "TAG", value_parser = PossibleValuesParser::new(outline::languages()))]
    language: Option<String>,

    /// The paper of the sheets
    #[arg(long, value_name = "SIZE", value_parser = PossibleValuesParser::new(PAPERS))]
    paper: Option<String>,

    /// The units to print; of two systems, the second stands in brackets
    #[arg(
        long,
        value_name = "UNITS",
        value_parser = PossibleValuesParser::new(UnitChoice::ALL.map(UnitChoice::name))
    )]
    units: Option<String>,

    /// What `gal`, `qt`, `pt` and `fl oz` mean; with `none`, they have to be written as `US gal` or `imp gal`
    #[arg(
        long,
        value_name = "SYSTEM",
        value_parser = PossibleValuesParser::new(GallonChoice::ALL.map(GallonChoice::name))
    )]
    gallons: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let folder = arguments.folder.as_path();
    refuse_sources(folder)?;
    let is_terminal = io::stdin().is_terminal() && io::stderr().is_terminal();
    let mut stdin = io::stdin().lock();
    let input: Option<&mut dyn BufRead> = is_terminal.then_some(&mut stdin);
    let shop = Questions {
        input,
        output: &mut io::stderr(),
    }
    .shop(arguments)?;
    let files = shop.files();
    // A name may have characters that no file may have.
    let world = files
        .iter()
        .map(|file| (file.path.as_str(), file.text.as_str()));
    let sources = crate::read(&Memory::new(world));
    let checked = crate::check(&sources);
    if !checked.findings.is_empty() {
        show(&sources, &checked.findings);
        print_error("nothing was created: give another name\n");
        return Ok(ExitStatus::SourceErrors);
    }
    outline::create(folder, &files).map_err(|error| creation_error(&error))?;
    let files: String = files
        .iter()
        .map(|file| ["  ", &file.path, "\n"].concat())
        .collect();
    let (shown, name) = (shown_path(folder), quoted_argument(folder));
    print(&format!(
        "created {shown}\n{files}\nNext:\n  \
         benchleaf check {name}\n  \
         benchleaf publish {name} --html-only        then open output/index.html\n  \
         benchleaf outline machine ID {name}         a file for a machine of your own\n"
    ));
    Ok(ExitStatus::Success)
}

/// Explains why files could not be created.
pub(super) fn creation_error(error: &NewFileError) -> CliError {
    let help = match error {
        NewFileError::Exists(_) => "choose another name, or move the file away",
        NewFileError::LeadsOutside(_) => "replace the link by a folder",
        NewFileError::Failed(_, error) => match error.kind() {
            io::ErrorKind::NotFound => "create the folder above it first, or check its name",
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                "choose a folder that this user may write to"
            }
            _ => "choose another folder",
        },
    };
    CliError::new(super::shared::without_controls(&error.to_string())).help(help)
}

/// The files and folders of a shop that other projects do not have.
const SOURCES: [&str; 7] = [
    "shop.toml",
    "tools.toml",
    "supplies.toml",
    "cautions.toml",
    "glossary.toml",
    "machines",
    "faults",
];

/// Refuses a folder that has sources already. The folder is not searched, because it may be a large one.
fn refuse_sources(folder: &Path) -> Result<(), CliError> {
    if folder.as_os_str().is_empty() {
        return Err(CliError::new("the name of the folder is empty")
            .help("give a name: `benchleaf start my-shop`"));
    }
    let mut sources = SOURCES.into_iter();
    let Some(first) = sources.find(|name| folder.join(name).symlink_metadata().is_ok()) else {
        return Ok(());
    };
    let message = format!(
        "{} has sources already, such as `{first}`",
        shown_path(folder)
    );
    Err(CliError::new(message)
        .help("choose a folder that does not exist, or add to this one with `benchleaf outline`"))
}

/// Asks what no option gives, if anybody can answer.
struct Questions<'q> {
    /// `None` if nobody can answer.
    input: Option<&'q mut dyn BufRead>,
    output: &'q mut dyn Write,
}

/// How often a question is asked again.
const MOST_ASKED: usize = 5;

impl Questions<'_> {
    fn shop(&mut self, arguments: &Arguments) -> Result<NewShop, CliError> {
        let languages: Vec<&str> = outline::languages().collect();
        let first = languages.first().copied().unwrap_or_default();
        let language = self.choose(
            "Language of the sheets",
            &languages,
            first,
            arguments.language.as_deref(),
        )?;
        let usual = NewShop::usual(language);
        let name = match &arguments.name {
            Some(name) => name.clone(),
            None => self.text("Name of the shop", &usual.name)?,
        };
        let paper = self.choose("Paper", &PAPERS, usual.paper, arguments.paper.as_deref())?;
        let units = UnitChoice::ALL.map(UnitChoice::name);
        let units = self.choose(
            "Units",
            &units,
            usual.units.name(),
            arguments.units.as_deref(),
        )?;
        let gallons = GallonChoice::ALL.map(GallonChoice::name);
        let gallons = self.choose(
            "Gallons, quarts and pints",
            &gallons,
            usual.gallons.name(),
            arguments.gallons.as_deref(),
        )?;
        let mut all_units = UnitChoice::ALL.into_iter();
        let mut all_gallons = GallonChoice::ALL.into_iter();
        Ok(NewShop {
            name,
            paper,
            units: all_units
                .find(|known| known.name() == units)
                .unwrap_or(usual.units),
            gallons: all_gallons
                .find(|known| known.name() == gallons)
                .unwrap_or(usual.gallons),
            ..usual
        })
    }

    /// One of some choices: as given, otherwise as answered, otherwise the usual one.
    fn choose<'c>(
        &mut self,
        question: &str,
        choices: &[&'c str],
        usual: &'c str,
        given: Option<&str>,
    ) -> Result<&'c str, CliError> {
        let find = |answer: &str| {
            let mut known = choices.iter();
            known
                .find(|known| known.eq_ignore_ascii_case(answer))
                .copied()
        };
        if let Some(given) = given {
            return Ok(find(given).unwrap_or(usual));
        }
        let question = format!("{question} ({})", choices.join(", "));
        for _ in 0..MOST_ASKED {
            let answer = self.text(&question, usual)?;
            if let Some(choice) = find(&answer) {
                return Ok(choice);
            }
        }
        let message = format!("{question}: no answer is one of these");
        Err(CliError::new(message)
            .help("give it as an option: `benchleaf start --help` lists them"))
    }

    /// An answer, or the usual one.
    fn text(&mut self, question: &str, usual: &str) -> Result<String, CliError> {
        let Some(input) = self.input.as_mut() else {
            return Ok(usual.to_owned());
        };
        let failed = |error: io::Error| CliError::new(format!("no answer can be read: {error}"));
        write!(self.output, "{question} [{usual}]: ").map_err(failed)?;
        self.output.flush().map_err(failed)?;
        let mut line = String::new();
        if input.read_line(&mut line).map_err(failed)? == 0 {
            return Err(
                CliError::new("the questions were not answered, and nothing was created")
                    .help("give the answers as options: `benchleaf start --help` lists them"),
            );
        }
        let answer = line.trim();
        Ok(if answer.is_empty() { usual } else { answer }.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(arguments: &[&str], answers: &str) -> (Result<NewShop, String>, String) {
        #[derive(clap::Parser)]
        struct Program {
            #[command(flatten)]
            arguments: Arguments,
        }
        let all = ["start", "shop"].iter().chain(arguments);
        let program = <Program as clap::Parser>::try_parse_from(all).unwrap();
        let mut input = answers.as_bytes();
        let mut output = Vec::new();
        let shop = Questions {
            input: Some(&mut input),
            output: &mut output,
        }
        .shop(&program.arguments);
        let output = String::from_utf8(output).unwrap();
        (shop.map_err(|error| error.message), output)
    }

    #[test]
    fn what_no_option_gives_is_asked() {
        let (shop, questions) = asked(&["--paper", "A4"], "en-us\n\nwrong\nmetric\nboth\n");
        let shop = shop.unwrap();
        assert_eq!((shop.name.as_str(), shop.paper), ("My workshop", "A4"));
        assert_eq!(
            (shop.units, shop.gallons),
            (UnitChoice::Metric, GallonChoice::Both)
        );
        assert_eq!(shop.language, "en-US");
        // The usual answers are those of the language.
        assert_eq!(
            questions.matches("[inch-metric]: ").count(),
            2,
            "{questions}"
        );
        assert!(!questions.contains("Paper"), "{questions}");
    }

    #[test]
    fn questions_that_are_not_answered_create_nothing() {
        let (shop, _) = asked(&[], "en-GB\n");
        assert!(shop.unwrap_err().contains("not answered"));
        let (shop, _) = asked(&["--name", "x", "--language", "es"], &"wrong\n".repeat(20));
        assert!(shop.unwrap_err().contains("no answer is one of these"));
    }
}
