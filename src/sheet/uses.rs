//! Where each thing of a shop is used.

use super::summary::Summary;
use crate::job::Thing;
use crate::page::{
    Block, Cell, HeadText, JobId, LinkTarget, OutputContext, PageContext, PageId, SectionId, Sheet,
    SheetKind, SheetSection, TextRun, Topic,
};
use crate::shop::Shop;
use std::collections::BTreeMap;

/// A thing and every step that does something to it or with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Use<'a> {
    /// What it is: `part`, `tool`.
    pub(crate) kind: &'static str,
    /// Its id.
    pub(crate) id: &'a str,
    /// Its name.
    pub(crate) name: &'a str,
    /// The machine it belongs to; none for a thing of the shop.
    pub(crate) machine: Option<&'a str>,
    /// Where: for each procedure and machine, the numbers of the steps on that job's own sheet.
    pub(crate) places: BTreeMap<(&'a str, &'a str), Vec<u32>>,
}

/// What is used anywhere in some jobs, by kind, then by machine and id.
///
/// A step counts for the procedure it is written in: what a procedure only takes over from another
/// is not its own.
#[must_use]
pub(crate) fn uses<'a>(jobs: &[&Summary<'a>]) -> Vec<Use<'a>> {
    let mut uses: BTreeMap<(&'static str, Option<&str>, &str), Use<'a>> = BTreeMap::new();
    for job in jobs {
        let place = (job.procedure.id.as_str(), job.machine.id.as_str());
        let mut put = |kind, machine, id, name, steps: &[u32]| {
            let one = uses.entry((kind, machine, id)).or_insert_with(|| Use {
                kind,
                id,
                name,
                machine,
                places: BTreeMap::new(),
            });
            one.places.insert(place, steps.to_vec());
        };
        for (thing, steps) in &job.uses {
            if let Some((kind, id, name, is_of_machine)) = named(*thing) {
                put(kind, is_of_machine.then_some(place.1), id, name, steps);
            }
        }
        // What is begun, finished or done as part of it is used by it.
        for origin in &job.takes_over {
            put("procedure", None, &origin.id, &origin.title.value, &[]);
        }
    }
    uses.into_values().collect()
}

/// Kind, id, name, and whether it belongs to a machine; none for what nobody looks up.
fn named(thing: Thing<'_>) -> Option<(&'static str, &str, &str, bool)> {
    match thing {
        Thing::Part(part) => Some(("part", &part.key, &part.name, true)),
        Thing::Reading(reading) => Some(("reading", &reading.key, &reading.name, true)),
        Thing::Tool(tool) => Some(("tool", &tool.key, &tool.name, false)),
        Thing::Supply(supply) => Some(("supply", &supply.key, &supply.name, false)),
        Thing::Caution(caution) => Some(("caution", &caution.key, &caution.hazard, false)),
        _ => None,
    }
}

/// The most procedures that are listed: a longer list is no longer read, and in a large shop there
/// are thousands.
const MOST: usize = 100;

/// The shop's sheet that says where each thing is used; none where nothing is.
#[must_use]
pub(crate) fn where_used(
    shop: &Shop,
    jobs: &[&Summary<'_>],
    output: &OutputContext,
) -> Option<Sheet> {
    let desk = PageContext { shop, output };
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
    let row = |one: &Use<'_>| {
        let mut runs = Vec::new();
        let mut by_procedure: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (procedure, machine) in one.places.keys() {
            by_procedure.entry(procedure).or_default().push(machine);
        }
        if by_procedure.len() > MOST {
            let count = by_procedure.len().to_string();
            let places = [("count", count.as_str()), ("id", one.id)];
            runs.push(TextRun::text(
                desk.words().say("in-procedures-ask", &places),
            ));
            by_procedure.clear();
        }
        for (at, (procedure, machines)) in by_procedure.into_iter().enumerate() {
            if at > 0 {
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
        vec![Cell::name(one.name), Cell::Text { runs }]
    };
    let columns = [("item", 4), ("used-in", 9)];
    let mut blocks: Vec<Block> = Vec::new();
    for (kind, topic) in [
        ("tool", Topic::Tools),
        ("supply", Topic::Supplies),
        ("caution", Topic::UsesOfCautions),
        ("procedure", Topic::Procedures),
    ] {
        let rows = uses.iter().filter(|one| one.kind == kind).map(row);
        blocks.extend(desk.table_section(topic, &columns, rows.collect()));
    }
    for machine in shop.machines.values() {
        let own = uses
            .iter()
            .filter(|one| one.machine == Some(machine.id.as_str()));
        let rows: Vec<_> = own.map(row).collect();
        if !rows.is_empty() {
            let title = &machine.name.value;
            blocks.push(Block::Section(SheetSection {
                id: SectionId::Machine(machine.id.clone()),
                title: title.clone(),
                from: None,
                blocks: vec![desk.table(title, &columns, rows)],
            }));
        }
    }
    if blocks.is_empty() {
        return None;
    }
    blocks.push(desk.notices());
    let naming = HeadText {
        title: desk
            .words()
            .get(SheetKind::WhereUsed.title_key())
            .to_owned(),
        machine: None,
        revision: None,
        revised: None,
        facts: Vec::new(),
        entries: &[],
    };
    let page = PageId::WhereUsed;
    Some(desk.sheet(page, SheetKind::WhereUsed, naming, blocks))
}
