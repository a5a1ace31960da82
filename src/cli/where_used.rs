//! `benchleaf where-used`

use super::bench::AnswerArguments;
use super::exit::{CliError, ExitStatus};
use super::shared::{TreeArguments, require_known, show};
use crate::sheet::{self, Summary, Use};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeSet;

/// Show where a part, tool, supply, caution, reading or procedure is used
///
/// Lists every procedure that uses it, with the machines and the steps. A part that
/// several machines have is listed for each machine.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf where-used bowl-gasket
  benchleaf where-used torque-driver my-shop --json")]
pub(super) struct Arguments {
    /// An id or a part number
    #[arg(value_name = "ITEM")]
    item: String,

    #[command(flatten)]
    tree: TreeArguments,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
struct Answer<'a> {
    item: &'a str,
    uses: Vec<AnswerUse<'a>>,
}

#[derive(Serialize)]
struct AnswerUse<'a> {
    kind: &'a str,
    id: &'a str,
    name: &'a str,
    machine: Option<&'a str>,
    places: Vec<AnswerPlace<'a>>,
}

#[derive(Serialize)]
struct AnswerPlace<'a> {
    procedure: &'a str,
    machine: &'a str,
    /// Step numbers on that job's sheet. Empty if the job includes the whole procedure.
    steps: &'a [u32],
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let sources = arguments.tree.read()?;
    let checked = arguments
        .tree
        .check_jobs(&sources, |rehearsed| Some(Summary::of(&rehearsed.job)));
    show(&sources, &checked.findings);
    let jobs: Vec<&Summary<'_>> = checked.jobs.iter().collect();
    let uses = sheet::uses(&jobs);
    let ids = matching_ids(&sources.shop, &arguments.item);
    let matching = uses.iter().filter(|item| ids.contains(item.id));
    let matching: Vec<&Use<'_>> = matching.collect();
    if matching.is_empty() {
        // An unused item is a valid answer. An item that is not declared is an error.
        let ids = declared_ids(&sources);
        require_known("item", &arguments.item, ids.iter().map(String::as_str))?;
    }
    let answer = Answer {
        item: &arguments.item,
        uses: matching.iter().map(|item| answer_use(item)).collect(),
    };
    arguments.answer.print(&answer, &lines(&answer));
    Ok(ExitStatus::of(&checked.findings))
}

/// The ids that the argument may refer to: the argument itself, and the ids of all parts with this
/// part number, or with one that replaces it.
fn matching_ids(shop: &crate::shop::Shop, item: &str) -> BTreeSet<String> {
    let parts = shop
        .machines
        .values()
        .flat_map(|machine| machine.parts.values());
    let is_numbered = |part: &&crate::shop::Part| {
        let mut superseded = part.supersedes.iter();
        part.number.as_deref() == Some(item) || superseded.any(|old| old.value == item)
    };
    let numbered = parts.filter(is_numbered);
    let mut ids: BTreeSet<String> = numbered.map(|part| part.key.clone()).collect();
    ids.insert(item.to_owned());
    ids
}

/// Every id that the command accepts.
fn declared_ids(sources: &crate::Sources) -> BTreeSet<String> {
    let shop = &sources.shop;
    let of_machines = shop
        .machines
        .values()
        .flat_map(|machine| machine.parts.keys().chain(machine.readings.keys()));
    let of_shop = shop
        .tools
        .keys()
        .chain(shop.supplies.keys())
        .chain(shop.cautions.keys());
    let procedures = sources
        .procedures
        .iter()
        .map(|procedure| procedure.id.as_str());
    of_machines
        .chain(of_shop)
        .chain(procedures)
        .map(str::to_owned)
        .collect()
}

fn answer_use<'a>(item: &'a Use<'_>) -> AnswerUse<'a> {
    let places = item.places.iter();
    AnswerUse {
        kind: item.kind,
        id: item.id,
        name: item.name,
        machine: item.machine,
        places: places
            .map(|((procedure, machine), steps)| AnswerPlace {
                procedure,
                machine,
                steps,
            })
            .collect(),
    }
}

/// The answer as text: one line for each procedure and machine.
fn lines(answer: &Answer<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    for item in &answer.uses {
        let owner = item
            .machine
            .map(|machine| format!(" of `{machine}`"))
            .unwrap_or_default();
        lines.push(format!("{} `{}`{owner}: {}", item.kind, item.id, item.name));
        for place in &item.places {
            let steps: Vec<String> = place.steps.iter().map(u32::to_string).collect();
            let steps = match steps.as_slice() {
                [] => String::new(),
                [step] => format!(", step {step}"),
                steps => format!(", steps {}", steps.join(", ")),
            };
            lines.push(format!("  {} on {}{steps}", place.procedure, place.machine));
        }
    }
    if lines.is_empty() {
        lines.push(format!("`{}` is not used", answer.item));
    }
    lines
}
