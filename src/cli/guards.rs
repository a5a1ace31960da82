//! `benchleaf guards`

use super::bench::AnswerArguments;
use super::exit::{CliError, ExitStatus};
use super::shared::{TreeArguments, require_known, show};
use crate::prose::Verb;
use crate::sheet::{Actions, ConditionGuard, EnergyGuard, FluidGuard, Guards, Summary};
use crate::shop::{LostBy, Machine, Part, Shop};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeMap;

/// Show what a machine's file guards, and which parts nothing guards
///
/// Lists for each energy what must not be touched while it is live, for each fluid what must be
/// done before its line is opened or it is filled, and for each condition what needs it, what
/// ends it and which procedures confirm it. A part that nothing guards is a gap: of a mistake on
/// it, only what holds for every part is found.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  benchleaf guards tarn-yarrow
  benchleaf guards tarn-yarrow my-shop --json")]
pub(super) struct Arguments {
    /// The machine
    #[arg(value_name = "MACHINE")]
    machine: String,

    #[command(flatten)]
    tree: TreeArguments,

    #[command(flatten)]
    answer: AnswerArguments,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Answer<'a> {
    machine: &'a str,
    /// For each kind of thing, the verbs that put hands on it.
    hands: BTreeMap<&'static str, Vec<&'static str>>,
    energies: Vec<EnergyAnswer<'a>>,
    fluids: Vec<FluidAnswer<'a>>,
    conditions: Vec<ConditionAnswer<'a>>,
    nothing_guards: Vec<&'a str>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct EnergyAnswer<'a> {
    id: &'a str,
    /// "any part", or the ids of things.
    endangers: Vec<String>,
    /// Actions that may be done while it is live.
    may_be_live: Vec<String>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct FluidAnswer<'a> {
    id: &'a str,
    /// The actions that open its line while it is full.
    opened_by: Vec<String>,
    /// One of these comes before.
    first: Vec<String>,
    /// The conditions that must hold when it is drained or filled, or its line is opened.
    needs: Vec<&'a str>,
    /// What must be off to drain it.
    drained_through: Vec<&'a str>,
    /// What must be off to fill it.
    filled_through: Option<&'a str>,
    /// What must be on and tight to fill it.
    filled_with: Vec<&'a str>,
    signed_by: Option<&'a str>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct ConditionAnswer<'a> {
    id: &'a str,
    needed_by: Vec<String>,
    after: Vec<String>,
    lost_by: Vec<String>,
    confirmed_in: Vec<&'a str>,
}

pub(super) fn run(arguments: &Arguments) -> Result<ExitStatus, CliError> {
    let sources = arguments.tree.read()?;
    let shop = &sources.shop;
    require_known("machine", &arguments.machine, shop.machines.keys())?;
    let checked = arguments.tree.check_jobs(&sources, |rehearsed| {
        let is_wanted = rehearsed.job.machine.id == arguments.machine;
        is_wanted.then(|| Summary::of(&rehearsed.job))
    });
    show(&sources, &checked.findings);
    let jobs: Vec<&Summary<'_>> = checked.jobs.iter().collect();
    if let Some(machine) = shop.machines.get(&arguments.machine) {
        let answer = answer(shop, machine, &jobs);
        arguments.answer.print(&answer, &lines(&answer));
    }
    Ok(ExitStatus::of(&checked.findings))
}

fn answer<'a>(shop: &'a Shop, machine: &'a Machine, jobs: &[&Summary<'a>]) -> Answer<'a> {
    let guards = Guards::of(shop, machine, jobs);
    let hands = guards.hands().into_iter();
    let energies = guards.energies.iter();
    let fluids = guards.fluids.iter();
    let conditions = guards.conditions.iter();
    Answer {
        machine: &machine.id,
        hands: hands
            .map(|(kind, verbs)| (kind.word(), verbs.into_iter().map(Verb::word).collect()))
            .collect(),
        energies: energies.map(energy_answer).collect(),
        fluids: fluids.map(fluid_answer).collect(),
        conditions: conditions
            .map(|guard| condition_answer(guard, shop, machine))
            .collect(),
        nothing_guards: keys(&guards.unguarded),
    }
}

fn energy_answer<'a>(guard: &EnergyGuard<'a>) -> EnergyAnswer<'a> {
    let kinds = guard.general_kinds().into_iter();
    let kinds = kinds.map(|kind| format!("any {}", kind.word()));
    let things = guard.single_things().map(|thing| thing.key().to_owned());
    EnergyAnswer {
        id: &guard.energy.key,
        endangers: kinds.chain(things).collect(),
        may_be_live: written(&guard.allowed),
    }
}

fn fluid_answer<'a>(guard: &FluidGuard<'a>) -> FluidAnswer<'a> {
    let fluid = guard.fluid;
    let valves = guard.valves.iter();
    let valves = valves.map(|valve| format!("close:{}", valve.key));
    let is_opened = !guard.opening.is_empty();
    let first = valves.chain([format!("drain:{}", fluid.key)]);
    FluidAnswer {
        id: &fluid.key,
        opened_by: written(&guard.opening),
        first: first.filter(|_| is_opened).collect(),
        needs: guard
            .needs
            .iter()
            .map(|condition| condition.key.as_str())
            .collect(),
        drained_through: keys(&guard.drained_through),
        filled_through: guard.filled_through.map(|part| part.key.as_str()),
        filled_with: keys(&guard.filled_with),
        signed_by: guard.signed_by.map(|role| role.key.as_str()),
    }
}

fn condition_answer<'a>(
    guard: &ConditionGuard<'a>,
    shop: &Shop,
    machine: &Machine,
) -> ConditionAnswer<'a> {
    let after = guard.after.iter();
    let lost_by = guard.lost_by.iter();
    let confirmed_in = guard.confirmed_in.iter();
    ConditionAnswer {
        id: &guard.condition.key,
        needed_by: written(&guard.needed_by),
        after: after
            .map(|action| action.written(shop, machine).to_string())
            .collect(),
        lost_by: lost_by
            .map(|by| match by {
                LostBy::Work => "work".to_owned(),
                LostBy::Action(action) => action.written(shop, machine).to_string(),
            })
            .collect(),
        confirmed_in: confirmed_in
            .map(|procedure| procedure.id.as_str())
            .collect(),
    }
}

fn keys<'a>(parts: &[&'a Part]) -> Vec<&'a str> {
    parts.iter().map(|part| part.key.as_str()).collect()
}

/// Each action in source notation: `remove:float-bowl`.
fn written(list: &[Actions<'_>]) -> Vec<String> {
    let mut written = Vec::new();
    for actions in list {
        for thing in &actions.things {
            let verbs = actions.verbs.iter();
            written.extend(verbs.map(|verb| format!("{}:{}", verb.word(), thing.key())));
        }
    }
    written
}

/// The answer as text: a block for each energy, fluid and condition.
fn lines(answer: &Answer<'_>) -> Vec<String> {
    let mut lines = vec![format!("`{}`", answer.machine)];
    for energy in &answer.energies {
        let rows = [
            ("endangers hands on", energy.endangers.join(", ")),
            ("may be live at", energy.may_be_live.join(", ")),
        ];
        push_block(&mut lines, &format!("energy `{}`", energy.id), &rows);
    }
    for fluid in &answer.fluids {
        let filled_through: Vec<&str> = fluid.filled_through.into_iter().collect();
        let signed_by: Vec<&str> = fluid.signed_by.into_iter().collect();
        let rows = [
            ("opened by", fluid.opened_by.join(", ")),
            ("opened only after", fluid.first.join(" or ")),
            ("needs", fluid.needs.join(", ")),
            ("drained with off", fluid.drained_through.join(" or ")),
            ("filled with off", filled_through.join(", ")),
            ("filled with on, tight", fluid.filled_with.join(", ")),
            ("signed for by", signed_by.join(", ")),
        ];
        push_block(&mut lines, &format!("fluid `{}`", fluid.id), &rows);
    }
    for condition in &answer.conditions {
        let rows = [
            ("needed by", or_none(&condition.needed_by, "nothing")),
            ("comes after", condition.after.join(", ")),
            ("ended by", or_none(&condition.lost_by, "nothing")),
            (
                "confirmed in",
                or_none(&condition.confirmed_in, "no procedure"),
            ),
        ];
        push_block(&mut lines, &format!("condition `{}`", condition.id), &rows);
    }
    let hands = answer.hands.iter();
    let rows: Vec<(&str, String)> = hands
        .map(|(kind, verbs)| (*kind, verbs.join(", ")))
        .collect();
    push_block(&mut lines, "hands are put on things by", &rows);
    let unguarded = answer.nothing_guards.join(", ");
    push_block(&mut lines, "nothing guards", &[("parts", unguarded)]);
    lines
}

/// The names, or a word for none: what nothing needs, and what nobody confirms, is a gap.
fn or_none<S: AsRef<str>>(names: &[S], none: &str) -> String {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    if names.is_empty() {
        none.to_owned()
    } else {
        names.join(", ")
    }
}

/// Adds a title and the rows that are not empty.
fn push_block(lines: &mut Vec<String>, title: &str, rows: &[(&str, String)]) {
    lines.push(String::new());
    lines.push(title.to_owned());
    for (label, text) in rows {
        if !text.is_empty() {
            lines.push(format!("  {label}: {text}"));
        }
    }
}
