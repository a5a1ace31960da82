//! `benchleaf calculate`

use super::bench::{AnswerArguments, GallonsArguments, unit};
use super::exit::{CliError, ExitStatus};
use crate::quantity::{Gallons, Kind, Quantity, Unit};
use crate::trade::{Answer, Answered, Calculation, Entered, Input, InputError, InputKind, Need};
use clap::builder::PossibleValuesParser;
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches};
use serde::Serialize;

/// The arguments are those of the table of calculations: a subcommand for each, an option for each input.
#[derive(Debug)]
pub(super) struct Arguments {
    calculation: &'static Calculation,
    /// The inputs that were typed.
    typed: Vec<(&'static Input, String)>,
    to: Vec<String>,
    gallons: GallonsArguments,
    answer: AnswerArguments,
}

const ABOUT: &str =
    "Calculate what a shop needs at the bench: gaps, ratios, flows, voltage drops, mixtures";

const LONG_ABOUT: &str = "\
Calculate what a shop needs at the bench: gaps, ratios, flows, voltage drops, mixtures

Prints the result with its arithmetic, its definition, the side that it is rounded to, and the source. An input can have \
a tolerance, such as `66 mm ± 0.01 mm`: then the range of the result is printed as well. A maker's value takes precedence \
over every result.";

const TO: &str = "to";

impl Args for Arguments {
    fn augment_args(command: Command) -> Command {
        let commands = Calculation::ALL
            .iter()
            .map(|calculation| subcommand(calculation));
        command
            .about(ABOUT)
            .long_about(LONG_ABOUT)
            .after_help(examples(Calculation::ALL.iter().copied().take(3)))
            .subcommand_required(true)
            .arg_required_else_help(true)
            .disable_help_subcommand(true)
            .subcommand_value_name("NAME")
            .subcommand_help_heading("Calculations")
            .subcommands(commands)
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

/// The command of a calculation.
fn subcommand(calculation: &'static Calculation) -> Command {
    let inputs = calculation.inputs.iter().map(argument);
    let to = Arg::new(TO)
        .long(TO)
        .value_name("UNIT")
        .help("Unit of the result; can be repeated")
        .action(clap::ArgAction::Append);
    let command = Command::new(calculation.name).args(inputs).arg(to);
    let command = AnswerArguments::augment_args(GallonsArguments::augment_args(command));
    // After the arguments that are shared, which would describe the command otherwise.
    let title = format!("Calculate {}", calculation.title);
    command
        .long_about(format!("{title}\n\n{}", calculation.definition))
        .about(title)
        .after_help(examples(std::iter::once(calculation)))
}

/// "Examples:" with a command of each calculation.
fn examples(calculations: impl Iterator<Item = &'static Calculation>) -> String {
    let lines = calculations.map(|calculation| format!("  {}", example(calculation)));
    let lines: Vec<String> = lines.collect();
    let title = if lines.len() == 1 {
        "Example"
    } else {
        "Examples"
    };
    format!("{title}:\n{}", lines.join("\n"))
}

/// The longest line of an example. The help is not wider than that.
const WIDTH: usize = 90;

/// The command of a calculation's example, in as many lines as it needs.
fn example(calculation: &Calculation) -> String {
    let mut lines = vec![format!("benchleaf calculate {}", calculation.name)];
    for (name, value) in calculation.example {
        let option = format!(" --{name} {}", quoted(value));
        match lines.last_mut() {
            Some(line) if line.chars().count() + option.chars().count() < WIDTH => {
                line.push_str(&option);
            }
            _ => lines.push(format!("   {option}")),
        }
    }
    lines.join(" \\\n  ")
}

/// A value as an argument of a shell. Those of the examples have no quotes.
fn quoted(value: &str) -> String {
    let is_plain = |letter: char| letter.is_ascii_alphanumeric() || letter == '.';
    if value.chars().all(is_plain) {
        value.to_owned()
    } else {
        format!("'{value}'")
    }
}

/// The option of an input.
fn argument(input: &'static Input) -> Arg {
    let argument = Arg::new(input.name)
        .long(input.name)
        .help(help(input))
        .required(input.need == Need::Required)
        // A temperature may be below zero.
        .allow_hyphen_values(true);
    match input.takes {
        InputKind::Quantity(_) => argument.value_name("VALUE"),
        InputKind::Word(words) => argument
            .value_name("WORD")
            .value_parser(PossibleValuesParser::new(words)),
        _ => argument.value_name("NUMBER"),
    }
}

fn help(input: &Input) -> String {
    let mut letters = input.about.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    let about: String = first.chain(letters).collect();
    let unit = match input.takes {
        InputKind::Quantity(_) => format!(" ({})", input.takes.expected()),
        InputKind::Number(unit) if !unit.is_empty() => format!(" (in {unit})"),
        _ => String::new(),
    };
    match input.need {
        Need::Default(default) => format!("{about}{unit} [default: {default}]"),
        _ => format!("{about}{unit}"),
    }
}

impl FromArgMatches for Arguments {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let missing = || clap::Error::new(clap::error::ErrorKind::MissingSubcommand);
        let (name, matches) = matches.subcommand().ok_or_else(missing)?;
        let calculation = Calculation::named(name).ok_or_else(missing)?;
        let typed = calculation.inputs.iter();
        let typed = typed.filter_map(|input| {
            let text = matches.get_one::<String>(input.name)?;
            Some((input, text.clone()))
        });
        let to = matches.get_many::<String>(TO).into_iter().flatten();
        Ok(Self {
            calculation,
            typed: typed.collect(),
            to: to.cloned().collect(),
            gallons: GallonsArguments::from_arg_matches(matches)?,
            answer: AnswerArguments::from_arg_matches(matches)?,
        })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

/// An answer for programs.
#[derive(Serialize)]
struct Printed {
    calculation: &'static str,
    inputs: Vec<PrintedInput>,
    results: Vec<PrintedResult>,
    arithmetic: Vec<String>,
    definition: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    caution: Option<&'static str>,
    sources: Vec<PrintedSource>,
}

#[derive(Serialize)]
struct PrintedInput {
    name: &'static str,
    value: String,
}

#[derive(Serialize)]
struct PrintedResult {
    name: &'static str,
    value: String,
    /// In the units that were asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    also: Vec<String>,
    rounding: &'static str,
    /// The range over all tolerances, rounded inwards.
    #[serde(skip_serializing_if = "Option::is_none")]
    least: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    most: Option<String>,
}

#[derive(Serialize)]
struct PrintedSource {
    title: &'static str,
    verified: &'static str,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let calculation = arguments.calculation;
    let gallons = arguments.gallons.used().meant;
    let to: Vec<Unit> = arguments
        .to
        .iter()
        .map(|text| unit(text, gallons))
        .collect::<Result<_, _>>()?;
    if let Some(unit) = to.iter().find(|unit| !is_of_result(calculation, **unit)) {
        let message = format!(
            "no result of `{}` is in `{}`",
            calculation.name,
            unit.symbol()
        );
        let kinds = calculation.results.iter().filter_map(|result| result.kind);
        let kinds: Vec<&str> = kinds.map(Kind::name).collect();
        let error = CliError::new(message);
        return Err(if kinds.is_empty() {
            error.help("leave out `--to`: its result has no unit")
        } else {
            error.help(format!("use a unit of {}", kinds.join(" or ")))
        });
    }
    let entered: Vec<Entered> = arguments
        .typed
        .iter()
        .map(|(input, text)| read(input, text, gallons))
        .collect::<Result<_, _>>()?;
    let answer = calculation.answer(&entered)?;
    let results: Vec<PrintedResult> = answer
        .results
        .iter()
        .map(|result| printed(result, &to))
        .collect();
    let lines = lines(calculation, &answer, &results);
    let printed = Printed {
        calculation: calculation.name,
        inputs: answer
            .inputs
            .iter()
            .map(|entered| PrintedInput {
                name: entered.input().name,
                value: entered.text(),
            })
            .collect(),
        results,
        arithmetic: answer.lines,
        definition: calculation.definition,
        caution: calculation.caution,
        sources: calculation
            .sources
            .iter()
            .map(|source| PrintedSource {
                title: source.title,
                verified: source.verified.text(),
            })
            .collect(),
    };
    arguments.answer.print(&printed, &lines);
    Ok(ExitStatus::Success)
}

fn is_of_result(calculation: &Calculation, unit: Unit) -> bool {
    let mut results = calculation.results.iter();
    results.any(|result| result.kind == Some(unit.kind()))
}

fn read(input: &'static Input, text: &str, gallons: Gallons) -> Result<Entered, CliError> {
    input.parse(text, gallons).map_err(|error| {
        let message = match &error {
            InputError::Text(error) => format!("`--{} {text}`: {error}", input.name),
            _ => error.to_string(),
        };
        CliError {
            help: error.help(),
            ..CliError::new(message)
        }
    })
}

fn printed(result: &Answered, to: &[Unit]) -> PrintedResult {
    let also = to.iter().filter_map(|unit| result.value_in(*unit));
    let range = result.range();
    let bound = |bound: Option<&Quantity>| bound.map(|bound| result.text_of(bound));
    PrintedResult {
        name: result.outcome.name,
        value: result.text(),
        also: also.map(|value| value.text()).collect(),
        rounding: result.outcome.rounding.text(),
        least: bound(range.as_ref().map(|range| &range.0)),
        most: bound(range.as_ref().map(|range| &range.1)),
    }
}

fn lines(calculation: &Calculation, answer: &Answer, results: &[PrintedResult]) -> Vec<String> {
    let mut lines = Vec::new();
    for (result, printed) in answer.results.iter().zip(results) {
        lines.push(format!(
            "{}: {} ({})",
            result.outcome.about,
            printed.value,
            result.outcome.rounded()
        ));
        lines.extend(printed.also.iter().map(|also| format!("= {also}")));
        if let (Some(least), Some(most)) = (&printed.least, &printed.most) {
            lines.push(format!("  over all tolerances: {least} to {most}"));
        }
    }
    lines.extend(answer.lines.iter().map(|line| format!("  {line}")));
    lines.extend(
        calculation
            .caution
            .map(|caution| format!("caution: {caution}")),
    );
    lines.push(format!("definition: {}", calculation.definition));
    lines.extend(
        calculation
            .sources
            .iter()
            .map(|source| format!("source: {} ({})", source.title, source.verified.text())),
    );
    lines
}
