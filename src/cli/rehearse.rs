//! `benchleaf rehearse`

use super::bench::AnswerArguments;
use super::shared::{TreeArguments, known, show};
use super::{Ended, Refusal};
use crate::Rehearsed;
use crate::dry_run;
use crate::finding::Level;
use crate::page::{Block, Edition, LeafKind, Run, Setting};
use crate::sheet;
use clap::Args;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Rehearse one job and show the machine's state step by step
///
/// Shows each step of the job as it is printed, and beneath it what the step changed on the
/// machine: what is off, loose, closed, drained, isolated. So an author sees why a finding says
/// what it says.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf rehearse float-bowl --machine tarn-t7
  benchleaf rehearse float-bowl my-shop --machine tarn-t7 --json")]
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
    steps: Vec<Step>,
}

#[derive(Serialize)]
struct Step {
    number: u32,
    procedure: String,
    section: String,
    text: String,
    derived: bool,
    /// All that is not as found, after the step.
    state: BTreeMap<String, &'static str>,
}

pub(super) fn run(arguments: &Arguments) -> Result<Ended, Refusal> {
    let sources = arguments.tree.read()?;
    let checked = arguments.tree.check_taking(&sources, |one| {
        let job = &one.job;
        let is_it = job.procedure.id == arguments.procedure && job.machine.id == arguments.machine;
        is_it.then_some(one)
    });
    let ids = sources.procedures.iter().map(|one| one.id.as_str());
    known("procedure", &arguments.procedure, ids)?;
    let ids = sources.shop.machines.keys();
    known("machine", &arguments.machine, ids)?;
    show(&sources, &checked.findings);
    let found = checked.jobs.iter().find(|one| {
        one.job.procedure.id == arguments.procedure && one.job.machine.id == arguments.machine
    });
    let Some(one) = found else {
        return Err(
            Refusal::new("there is no such job, or it could not be made out")
                .help("a procedure's `machines` say which machines it is for"),
        );
    };
    let edition = Edition::first(&sources.shop);
    let setting = Setting::new(&sources.tree, &edition, &[], BTreeSet::new());
    let texts = texts(one, &setting);
    let states = dry_run::states(&one.job);
    let mut steps = Vec::new();
    for section in &one.job.sections {
        for step in section.steps() {
            let state = states.get(step.number as usize - 1);
            let differences = state.map(|state| state.differences());
            steps.push(Step {
                number: step.number,
                procedure: section.origin.id.clone(),
                section: section.title.to_owned(),
                text: texts.get(&step.number).cloned().unwrap_or_default(),
                derived: step.derived,
                state: differences
                    .unwrap_or_default()
                    .into_iter()
                    .map(|difference| (difference.key.to_owned(), difference.how))
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
    arguments.answer.give(&answer, &lines);
    let has_errors = checked.findings.count(Level::Error) > 0;
    Ok(if has_errors {
        Ended::WithErrors
    } else {
        Ended::Well
    })
}

/// The steps as they are printed, by number.
fn texts(one: &Rehearsed<'_>, setting: &Setting) -> BTreeMap<u32, String> {
    fn gather(blocks: &[Block], texts: &mut BTreeMap<u32, String>) {
        for block in blocks {
            match block {
                Block::Section(section) => gather(&section.blocks, texts),
                Block::Steps { steps } => {
                    texts.extend(steps.iter().map(|step| (step.number, plain(&step.text))));
                }
                _ => {}
            }
        }
    }
    let leaf = sheet::make(LeafKind::ShopSheet, &one.job, &one.rehearsal, setting);
    let mut texts = BTreeMap::new();
    gather(&leaf.blocks, &mut texts);
    texts
}

fn plain(runs: &[Run]) -> String {
    let text = |run: &Run| match run {
        Run::Text { text } | Run::Code { text } => text.clone(),
        Run::Strong { runs } | Run::Emphasis { runs } | Run::Link { runs, .. } => plain(runs),
        Run::Break => " ".to_owned(),
    };
    runs.iter().map(text).collect()
}

/// For people: each step, and beneath it what it changed.
fn lines(answer: &Answer) -> Vec<String> {
    let mut lines = vec![format!("`{}` on `{}`", answer.procedure, answer.machine)];
    let mut heading = (String::new(), String::new());
    let mut before: BTreeMap<String, &str> = BTreeMap::new();
    for step in &answer.steps {
        let own = (step.procedure.clone(), step.section.clone());
        if own != heading {
            lines.push(String::new());
            lines.push(format!("{} ({})", step.section, step.procedure));
            heading = own;
        }
        let by = if step.derived { " (derived)" } else { "" };
        lines.push(format!("{:>4}  {}{by}", step.number, clean(&step.text)));
        let mut changes: Vec<String> = Vec::new();
        for (id, word) in &step.state {
            if before.get(id) != Some(word) {
                changes.push(format!("{id} {word}"));
            }
        }
        let gone = before.keys().filter(|id| !step.state.contains_key(*id));
        changes.extend(gone.map(|id| format!("{id} as found")));
        if !changes.is_empty() {
            lines.push(format!("      → {}", changes.join("; ")));
        }
        before.clone_from(&step.state);
    }
    lines.push(String::new());
    let left: Vec<String> = before
        .iter()
        .filter(|(_, word)| !matches!(**word, "measured" | "holds"))
        .map(|(id, word)| format!("{id} {word}"))
        .collect();
    lines.push(if left.is_empty() {
        "at the end: all as found".to_owned()
    } else {
        format!("at the end: {}", left.join("; "))
    });
    lines
}

/// A shop's text can't move the cursor.
fn clean(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_control()).collect()
}
