//! `benchleaf rehearse`

use super::bench::AnswerArguments;
use super::exit::{CliError, ExitStatus};
use super::shared::{TreeArguments, require_known, show, without_controls};
use crate::Rehearsed;
use crate::model::State;
use crate::page::{Edition, OutputContext};
use crate::rehearsal;
use crate::sheet::JobDocument;
use clap::Args;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Rehearse one job and show the machine's state step by step
///
/// Shows each step of the job as it is printed, and below it what the step changed on the machine:
/// what is off, loose, closed, drained or isolated. Use it to understand why a finding is
/// reported.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf rehearse float-bowl --machine tarn-yarrow
  benchleaf rehearse float-bowl my-shop --machine tarn-yarrow --json")]
pub(super) struct Arguments {
    /// The procedure
    #[arg(value_name = "PROCEDURE")]
    procedure: String,

    #[command(flatten)]
    tree: TreeArguments,

    /// The machine
    #[arg(long, short, value_name = "ID")]
    machine: String,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
struct Answer {
    procedure: String,
    machine: String,
    steps: Vec<StepAnswer>,
}

#[derive(Serialize)]
struct StepAnswer {
    number: u32,
    procedure: String,
    section: String,
    text: String,
    derived: bool,
    /// What differs from the initial state after the step: the condition of each part by its id.
    state: BTreeMap<String, String>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let sources = arguments.tree.read()?;
    let checked = arguments.tree.check_jobs(&sources, |rehearsed| {
        let job = &rehearsed.job;
        let is_wanted =
            job.procedure.id == arguments.procedure && job.machine.id == arguments.machine;
        is_wanted.then_some(rehearsed)
    });
    let ids = sources
        .procedures
        .iter()
        .map(|procedure| procedure.id.as_str());
    require_known("procedure", &arguments.procedure, ids)?;
    let ids = sources.shop.machines.keys();
    require_known("machine", &arguments.machine, ids)?;
    show(&sources, &checked.findings);
    let Some(rehearsed) = checked.jobs.first() else {
        return Err(
            CliError::new("this job does not exist or could not be read")
                .help("a procedure's `machines` lists the machines it is for"),
        );
    };
    let edition = Edition::first(&sources.shop);
    let output = OutputContext::new(&sources.tree, &edition, BTreeSet::new());
    let texts = texts(rehearsed, &output);
    let states = rehearsal::states(&rehearsed.job);
    let mut steps = Vec::new();
    for section in &rehearsed.job.sections {
        for step in section.steps() {
            let state = states.get(step.number as usize - 1);
            let differences = state.map(State::differences);
            steps.push(StepAnswer {
                number: step.number,
                procedure: section.origin.id.clone(),
                section: section.title.to_owned(),
                text: texts.get(&step.number).cloned().unwrap_or_default(),
                derived: step.is_derived,
                state: differences
                    .unwrap_or_default()
                    .into_iter()
                    .map(|difference| (difference.key.to_owned(), difference.how.to_owned()))
                    .collect(),
            });
        }
    }
    let answer = Answer {
        procedure: arguments.procedure.clone(),
        machine: arguments.machine.clone(),
        steps,
    };
    let lines = lines(&answer);
    arguments.answer.print(&answer, &lines);
    Ok(ExitStatus::of(&checked.findings))
}

/// The text of each printed step, by its number.
fn texts(rehearsed: &Rehearsed<'_>, output: &OutputContext) -> BTreeMap<u32, String> {
    let document = JobDocument::new(&rehearsed.job, &rehearsed.rehearsal, output);
    document.step_texts().collect()
}

/// The answer as text: each step, and below it the changes that it made.
fn lines(answer: &Answer) -> Vec<String> {
    let mut lines = vec![format!("`{}` on `{}`", answer.procedure, answer.machine)];
    let mut heading = (String::new(), String::new());
    let mut before: BTreeMap<String, String> = BTreeMap::new();
    for step in &answer.steps {
        let step_heading = (step.procedure.clone(), step.section.clone());
        if step_heading != heading {
            lines.push(String::new());
            lines.push(format!("{} ({})", step.section, step.procedure));
            heading = step_heading;
        }
        let mark = if step.derived { " (derived)" } else { "" };
        lines.push(format!(
            "{:>4}  {}{mark}",
            step.number,
            without_controls(&step.text)
        ));
        let mut changes: Vec<String> = Vec::new();
        for (id, condition) in &step.state {
            if before.get(id) != Some(condition) {
                changes.push(format!("{id} {condition}"));
            }
        }
        let restored = before.keys().filter(|id| !step.state.contains_key(*id));
        changes.extend(restored.map(|id| format!("{id} as found")));
        if !changes.is_empty() {
            lines.push(format!("      → {}", changes.join("; ")));
        }
        before.clone_from(&step.state);
    }
    lines.push(String::new());
    let remaining: Vec<String> = before
        .iter()
        .filter(|(_, condition)| !matches!(condition.as_str(), "measured" | "holds"))
        .map(|(id, condition)| format!("{id} {condition}"))
        .collect();
    lines.push(if remaining.is_empty() {
        "at the end: all as found".to_owned()
    } else {
        format!("at the end: {}", remaining.join("; "))
    });
    lines
}
