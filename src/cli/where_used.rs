//! `benchleaf where-used`

use super::bench::AnswerArguments;
use super::shared::{TreeArguments, known, show};
use super::{Ended, Refusal};
use crate::finding::Level;
use crate::sheet::{self, Summary, Use};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeSet;

/// Say where a part, tool, supply, caution, reading or procedure is used
///
/// Lists every procedure that has to do with it, with the machines and the steps. A part that
/// several machines have is listed for each.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf where-used bowl-gasket
  benchleaf where-used torque-driver my-shop --json")]
pub(super) struct Arguments {
    /// Its id, or its part number
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
    /// Numbers on that job's sheet; none where it takes over the whole procedure.
    steps: &'a [u32],
}

pub(super) fn run(arguments: &Arguments) -> Result<Ended, Refusal> {
    let sources = arguments.tree.read()?;
    let checked = arguments
        .tree
        .check_taking(&sources, |one| Some(Summary::of(&one.job)));
    show(&sources, &checked.findings);
    let jobs: Vec<&Summary<'_>> = checked.jobs.iter().collect();
    let uses = sheet::uses(&jobs);
    let wanted = wanted(&sources.shop, &arguments.item);
    let found: Vec<&Use<'_>> = uses.iter().filter(|one| wanted.contains(one.id)).collect();
    if found.is_empty() {
        // What is declared and used nowhere is an answer; what is not declared is a slip.
        let ids = ids(&sources);
        known("item", &arguments.item, ids.iter().map(String::as_str))?;
    }
    let answer = Answer {
        item: &arguments.item,
        uses: found.iter().map(|one| answer_use(one)).collect(),
    };
    arguments.answer.give(&answer, &lines(&answer));
    let has_errors = checked.findings.count(Level::Error) > 0;
    Ok(if has_errors {
        Ended::WithErrors
    } else {
        Ended::Well
    })
}

/// The ids that an argument stands for: itself, or those of the parts with that number.
fn wanted(shop: &crate::shop::Shop, item: &str) -> BTreeSet<String> {
    let parts = shop
        .machines
        .values()
        .flat_map(|machine| machine.parts.values());
    let numbered = parts.filter(|part| part.number.as_deref() == Some(item));
    let mut ids: BTreeSet<String> = numbered.map(|part| part.key.clone()).collect();
    ids.insert(item.to_owned());
    ids
}

/// Every id there is to ask for.
fn ids(sources: &crate::Sources) -> BTreeSet<String> {
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
    let procedures = sources.procedures.iter().map(|one| one.id.as_str());
    of_machines
        .chain(of_shop)
        .chain(procedures)
        .map(str::to_owned)
        .collect()
}

fn answer_use<'a>(one: &'a Use<'_>) -> AnswerUse<'a> {
    let places = one.places.iter();
    AnswerUse {
        kind: one.kind,
        id: one.id,
        name: one.name,
        machine: one.machine,
        places: places
            .map(|((procedure, machine), steps)| AnswerPlace {
                procedure,
                machine,
                steps,
            })
            .collect(),
    }
}

/// For people: a line a procedure and machine.
fn lines(answer: &Answer<'_>) -> Vec<String> {
    let mut lines = Vec::new();
    for one in &answer.uses {
        let of = one
            .machine
            .map(|machine| format!(" of `{machine}`"))
            .unwrap_or_default();
        lines.push(format!("{} `{}`{of}: {}", one.kind, one.id, one.name));
        for place in &one.places {
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
        lines.push(format!("`{}` is used nowhere", answer.item));
    }
    lines
}
