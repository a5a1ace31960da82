//! `benchleaf due`

use super::bench::AnswerArguments;
use super::exit::{CliError, ExitStatus};
use super::shared::{TreeArguments, require_known, show};
use crate::due::{JobDue, State, UnitDue, due};
use crate::quantity::Rational;
use crate::trade::Day;
use crate::words::Words;
use clap::Args;
use serde::Serialize;

/// List what is due on the shop's machines on a day
///
/// Reads `log.toml` of the sources, which says when the hours of each unit were read and what was
/// done on it. A job is due in the last tenth of its interval, and overdue after it. Of several
/// intervals the first to come counts. A month after 31 January is the last day of February.
///
/// Exits with 0 whatever is due, with 1 if the sources have errors, and with 2 if it could not run.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf due --on 2026-03-01
  benchleaf due my-shop --on 2026-03-01 --machine tarn-sedge --json")]
pub(super) struct Arguments {
    #[command(flatten)]
    tree: TreeArguments,

    /// Only units of this machine; can be repeated
    #[arg(long, short, value_name = "ID")]
    machine: Vec<String>,

    /// Only this unit of the log; can be repeated
    #[arg(long, short, value_name = "ID")]
    unit: Vec<String>,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Answer {
    on: String,
    units: Vec<AnswerUnit>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct AnswerUnit {
    unit: String,
    machine: String,
    name: String,
    serial_number: Option<String>,
    hours: Option<String>,
    read_on: Option<String>,
    jobs: Vec<AnswerJob>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct AnswerJob {
    state: &'static str,
    procedure: String,
    title: String,
    interval: String,
    done_on: Option<String>,
    done_at_hours: Option<String>,
    due_on: Option<String>,
    /// Negative if the day has passed.
    days_left: Option<i32>,
    due_at_hours: Option<String>,
    /// Negative if the hours have passed.
    hours_left: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let Some(on) = arguments.tree.on() else {
        return Err(CliError::new("a day is needed: what is due depends on it")
            .help("name it: `benchleaf due --on 2026-03-01`"));
    };
    let sources = arguments.tree.read()?;
    let checked = arguments.tree.check_jobs(&sources, |_| None::<()>);
    show(&sources, &checked.findings);
    let shop = &sources.shop;
    for id in &arguments.machine {
        require_known("machine", id, shop.machines.keys())?;
    }
    for id in &arguments.unit {
        require_known("unit", id, shop.fleet.keys())?;
    }
    if shop.fleet.is_empty() {
        return Err(CliError::new("the sources have no log of hours and dates").help(
            "write `log.toml` with a table for each unit: `[unit.sedge-1]` with `machine = \"tarn-sedge\"`",
        ));
    }
    let words = author_words(shop.languages.first());
    let is_wanted = |unit: &UnitDue<'_>| {
        (arguments.machine.is_empty() || arguments.machine.contains(&unit.machine.id))
            && (arguments.unit.is_empty() || arguments.unit.contains(&unit.unit.key))
    };
    let units = due(shop, &sources.procedures, words, on);
    let units: Vec<UnitDue<'_>> = units.into_iter().filter(is_wanted).collect();
    let answer = Answer {
        on: on.to_string(),
        units: units.iter().map(|unit| answer_unit(unit, words)).collect(),
    };
    arguments.answer.print(&answer, &lines(&answer));
    Ok(ExitStatus::of(&checked.findings))
}

fn author_words(language: Option<&String>) -> &'static Words {
    let words = language.and_then(|language| Words::of(language));
    words.unwrap_or_else(|| Words::english())
}

fn answer_unit(due: &UnitDue<'_>, words: &Words) -> AnswerUnit {
    let hours = due.hours.as_ref();
    AnswerUnit {
        unit: due.unit.key.clone(),
        machine: due.machine.id.clone(),
        name: due.machine.name.value.clone(),
        serial_number: due.unit.serial_number.clone(),
        hours: hours.map(|(hours, _)| decimal(hours)),
        read_on: hours.map(|(_, day)| day.to_string()),
        jobs: due.jobs.iter().map(|job| answer_job(job, words)).collect(),
    }
}

fn answer_job(job: &JobDue<'_>, words: &Words) -> AnswerJob {
    let text = |day: Day| day.to_string();
    let last = job.last.as_ref();
    let hours = job.when.hours.as_ref();
    AnswerJob {
        state: state_name(job.when.state),
        procedure: job.procedure.id.clone(),
        title: job.procedure.title.value.clone(),
        interval: words.interval(&job.interval),
        done_on: last.map(|last| text(last.day)),
        done_at_hours: last.and_then(|last| last.hours.as_ref()).map(decimal),
        due_on: job.when.day.map(|(day, _)| text(day)),
        days_left: job.when.day.map(|(_, left)| left),
        due_at_hours: hours.map(|(due, _)| decimal(due)),
        hours_left: hours.and_then(|(_, left)| left.as_ref()).map(decimal),
    }
}

fn state_name(state: State) -> &'static str {
    match state {
        State::Overdue => "overdue",
        State::Due => "due",
        State::NotRecorded => "not recorded",
        State::Done => "later",
        State::EachUse => "at use",
        State::WhenNeeded => "when needed",
        State::Finished => "finished",
    }
}

/// A number of hours. The log has decimals only, so the text is exact.
fn decimal(hours: &Rational) -> String {
    crate::due::hours_text(hours)
}

/// The answer as text: a paragraph for each unit.
fn lines(answer: &Answer) -> Vec<String> {
    let mut lines = Vec::new();
    for unit in &answer.units {
        if !lines.is_empty() {
            lines.push(String::new());
        }
        let number = unit.serial_number.iter().cloned();
        let read = match (&unit.hours, &unit.read_on) {
            (Some(hours), Some(day)) => format!("{hours} h on {day}"),
            _ => "no hours read".to_owned(),
        };
        let head = std::iter::once(format!("{}: {}", unit.unit, unit.name));
        let head: Vec<String> = head.chain(number).chain([read]).collect();
        lines.push(head.join(", "));
        if unit.jobs.is_empty() {
            lines.push("  no job on this machine has an interval".to_owned());
        }
        lines.extend(unit.jobs.iter().map(line));
    }
    if answer.units.is_empty() {
        lines.push("no unit of this machine is in the log".to_owned());
    }
    lines
}

fn line(job: &AnswerJob) -> String {
    let by_hours = job.due_at_hours.as_ref().map(|due| {
        let left = job.hours_left.as_deref();
        match left.map(|left| left.strip_prefix('-').ok_or(left)) {
            Some(Ok(over)) => format!("{over} h over, due at {due} h"),
            Some(Err(left)) => format!("{left} h left, due at {due} h"),
            None => format!("due at {due} h"),
        }
    });
    let by_day = job.due_on.as_ref().map(|due| match job.days_left {
        Some(left) if left < 0 => format!("{} over, due on {due}", days(left)),
        Some(left) => format!("{} left, due on {due}", days(left)),
        None => format!("due on {due}"),
    });
    let when: Vec<String> = by_hours.into_iter().chain(by_day).collect();
    let when = if when.is_empty() {
        String::new()
    } else {
        format!(": {}", when.join("; "))
    };
    format!("  {:<13}{} ({}){when}", job.state, job.title, job.interval)
}

fn days(count: i32) -> String {
    match count.unsigned_abs() {
        1 => "1 day".to_owned(),
        count => format!("{count} days"),
    }
}
