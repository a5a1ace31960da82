//! Where each thing of a shop is used: tools, supplies, cautions, procedures, parts and readings.

use super::summary::Summary;
use crate::job::Thing;
use crate::page::{
    Block, Cell, HeadText, JobId, LinkTarget, OutputContext, PageContext, PageId, SectionId, Sheet,
    SheetKind, SheetSection, TextRun, Topic,
};
use crate::shop::Shop;
use std::collections::BTreeMap;

/// A thing, and the steps that act on it or use it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Use<'a> {
    /// The kind of thing: `part`, `tool`.
    pub(crate) kind: &'static str,
    pub(crate) id: &'a str,
    pub(crate) name: &'a str,
    /// The id of the machine that the thing belongs to. `None` for a thing of the whole shop.
    pub(crate) machine: Option<&'a str>,
    /// Step numbers on a job's sheet, by the ids of the job's procedure and machine. Empty for a
    /// procedure that is part of a job.
    pub(crate) places: BTreeMap<(&'a str, &'a str), Vec<u32>>,
}

/// Everything that the jobs use, by kind, then by machine and id.
///
/// A step counts for the procedure that it is written in. Steps that come from another procedure
/// are not the job's own.
#[must_use]
pub(crate) fn uses<'a>(jobs: &[&Summary<'a>]) -> Vec<Use<'a>> {
    let mut uses: BTreeMap<(&'static str, Option<&str>, &str), Use<'a>> = BTreeMap::new();
    for job in jobs {
        let place = (job.procedure.id.as_str(), job.machine.id.as_str());
        let mut record = |kind, machine, id, name, steps: &[u32]| {
            let usage = uses.entry((kind, machine, id)).or_insert_with(|| Use {
                kind,
                id,
                name,
                machine,
                places: BTreeMap::new(),
            });
            usage.places.insert(place, steps.to_vec());
        };
        for (thing, steps) in &job.uses {
            if let Some((kind, id, name, is_of_machine)) = named(*thing) {
                record(kind, is_of_machine.then_some(place.1), id, name, steps);
            }
        }
        // The job uses the procedures that it begins with, includes and ends with.
        for origin in &job.included_procedures {
            record("procedure", None, &origin.id, &origin.title.value, &[]);
        }
    }
    uses.into_values().collect()
}

/// Kind, id, name, and whether the thing belongs to a machine. `None` for a thing that is not
/// listed.
fn named(thing: Thing<'_>) -> Option<(&'static str, &str, &str, bool)> {
    match thing {
        Thing::Part(part) => Some(("part", &part.key, &part.name, true)),
        Thing::Reading(reading) => Some(("reading", &reading.key, reading.title(), true)),
        Thing::Tool(tool) => Some(("tool", &tool.key, &tool.name, false)),
        Thing::Supply(supply) => Some(("supply", &supply.key, &supply.name, false)),
        Thing::Caution(caution) => Some(("caution", &caution.key, &caution.hazard, false)),
        _ => None,
    }
}

/// The maximum number of procedures in a row. Nobody reads a longer list, and a large shop has
/// thousands.
const MAX_PROCEDURES: usize = 100;

/// The shop's where-used sheet. `None` if nothing is used.
#[must_use]
pub(crate) fn where_used(
    shop: &Shop,
    jobs: &[&Summary<'_>],
    output: &OutputContext,
) -> Option<Sheet> {
    let context = PageContext { shop, output };
    let uses = uses(jobs);
    let titles: BTreeMap<&str, &str> = jobs
        .iter()
        .map(|job| {
            (
                job.procedure.id.as_str(),
                job.procedure.title.value.as_str(),
            )
        })
        .collect();
    let row = |usage: &Use<'_>| {
        let mut runs = Vec::new();
        let mut by_procedure: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (procedure, machine) in usage.places.keys() {
            by_procedure.entry(procedure).or_default().push(machine);
        }
        if by_procedure.len() > MAX_PROCEDURES {
            let count = by_procedure.len().to_string();
            let values = [("count", count.as_str()), ("id", usage.id)];
            runs.push(TextRun::text(
                context.words().format("in-procedures-ask", &values),
            ));
            by_procedure.clear();
        }
        for (index, (procedure, machines)) in by_procedure.into_iter().enumerate() {
            if index > 0 {
                runs.push(TextRun::text("; "));
            }
            let title = TextRun::text(*titles.get(procedure).unwrap_or(&procedure));
            runs.push(match machines.first() {
                Some(machine) => {
                    let job = JobId::new(*machine, procedure);
                    TextRun::link(LinkTarget::Job(job), vec![title])
                }
                None => title,
            });
        }
        vec![Cell::name(usage.name), Cell::Text { runs }]
    };
    let columns = [("item", 4), ("used-in", 9)];
    let mut blocks: Vec<Block> = Vec::new();
    for (kind, topic) in [
        ("tool", Topic::Tools),
        ("supply", Topic::Supplies),
        ("caution", Topic::UsesOfCautions),
        ("procedure", Topic::Procedures),
    ] {
        let rows = uses.iter().filter(|usage| usage.kind == kind).map(row);
        blocks.extend(context.table_section(topic, &columns, rows.collect()));
    }
    for machine in shop.machines.values() {
        let of_machine = uses
            .iter()
            .filter(|usage| usage.machine == Some(machine.id.as_str()));
        let rows: Vec<_> = of_machine.map(row).collect();
        if !rows.is_empty() {
            let title = &machine.name.value;
            blocks.push(Block::Section(SheetSection {
                id: SectionId::Machine(machine.id.clone()),
                title: title.clone(),
                from: None,
                blocks: vec![context.table(title, &columns, rows)],
            }));
        }
    }
    if blocks.is_empty() {
        return None;
    }
    blocks.push(context.notices());
    let head_text = HeadText {
        title: context
            .words()
            .get(SheetKind::WhereUsed.title_key())
            .to_owned(),
        machine: None,
        revision: None,
        revised: None,
        facts: Vec::new(),
        entries: &[],
        serials: Vec::new(),
    };
    let page = PageId::WhereUsed;
    Some(context.sheet(page, SheetKind::WhereUsed, head_text, blocks))
}
