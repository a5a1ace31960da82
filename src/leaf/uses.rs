//! Where each thing of a shop is used.

use super::desk::{Desk, Naming};
use super::{Block, Cell, Leaf, LeafKind, Run, Setting, path};
use crate::job::{Job, Thing};
use crate::shop::Shop;
use std::collections::BTreeMap;

/// A thing and every step that does something to it or with it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// What it is: `part`, `tool`.
    pub kind: &'static str,
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// The machine it belongs to; none for a thing of the shop.
    pub machine: Option<String>,
    /// Where: for each procedure and machine, the numbers of the steps on that job's own sheet.
    pub places: BTreeMap<(String, String), Vec<u32>>,
}

/// What is used anywhere in some jobs, by kind, then by machine and id.
///
/// A step counts for the procedure it is written in: what a procedure only takes over from another
/// is not its own.
#[must_use]
pub fn uses(jobs: &[&Job<'_>]) -> Vec<Use> {
    let mut uses: BTreeMap<(&'static str, Option<&str>, &str), Use> = BTreeMap::new();
    for job in jobs {
        let own = |step: &&crate::job::Step<'_>| step.origin.id == job.procedure.id;
        for step in job.steps().filter(own) {
            let things = step.all_acts().map(|act| act.thing);
            let cautions = step.cautions.iter().map(|caution| Thing::Caution(caution));
            for thing in things.chain(cautions) {
                let Some((kind, name, is_of_machine)) = named(thing) else {
                    continue;
                };
                let machine = is_of_machine.then_some(job.machine.id.as_str());
                let key = (kind, machine, id_of(thing));
                let one = uses.entry(key).or_insert_with(|| Use {
                    kind,
                    id: key.2.to_owned(),
                    name: name.to_owned(),
                    machine: machine.map(str::to_owned),
                    places: BTreeMap::new(),
                });
                let place = (job.procedure.id.clone(), job.machine.id.clone());
                let steps = one.places.entry(place).or_default();
                if steps.last() != Some(&step.number) {
                    steps.push(step.number);
                }
            }
        }
        // What is begun, finished or done as part of it is used by it.
        for section in &job.sections {
            let origin = section.origin;
            if origin.id == job.procedure.id {
                continue;
            }
            let one = uses
                .entry(("procedure", None, &origin.id))
                .or_insert_with(|| Use {
                    kind: "procedure",
                    id: origin.id.clone(),
                    name: origin.title.value.clone(),
                    machine: None,
                    places: BTreeMap::new(),
                });
            let place = (job.procedure.id.clone(), job.machine.id.clone());
            one.places.entry(place).or_default();
        }
    }
    uses.into_values().collect()
}

/// An id with the life of the shop's records.
fn id_of(thing: Thing<'_>) -> &str {
    match thing {
        Thing::Part(part) => &part.id,
        Thing::Tool(tool) => &tool.id,
        Thing::Supply(supply) => &supply.id,
        Thing::Caution(caution) => &caution.id,
        Thing::Reading(reading) => &reading.id,
        _ => "",
    }
}

/// Kind, name, and whether it belongs to a machine; none for what nobody looks up.
fn named(thing: Thing<'_>) -> Option<(&'static str, &str, bool)> {
    match thing {
        Thing::Part(part) => Some(("part", &part.name, true)),
        Thing::Reading(reading) => Some(("reading", &reading.name, true)),
        Thing::Tool(tool) => Some(("tool", &tool.name, false)),
        Thing::Supply(supply) => Some(("supply", &supply.name, false)),
        Thing::Caution(caution) => Some(("caution", &caution.hazard, false)),
        _ => None,
    }
}

/// The shop's leaf that says where each thing is used; none where nothing is.
#[must_use]
pub fn where_used(shop: &Shop, jobs: &[&Job<'_>], setting: &Setting) -> Option<Leaf> {
    let desk = Desk {
        shop,
        setting,
        kind: LeafKind::WhereUsed,
    };
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
    let row = |one: &Use| {
        let mut runs = Vec::new();
        let mut by_procedure: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (procedure, machine) in one.places.keys() {
            by_procedure.entry(procedure).or_default().push(machine);
        }
        for (at, (procedure, machines)) in by_procedure.into_iter().enumerate() {
            if at > 0 {
                runs.push(Run::text("; "));
            }
            let title = Run::text(*titles.get(procedure).unwrap_or(&procedure));
            let target = machines.first().and_then(|machine| {
                desk.leaf_target(&path(machine, procedure, LeafKind::ShopSheet))
            });
            runs.push(match target {
                Some(target) => Run::Link {
                    target,
                    runs: vec![title],
                },
                None => title,
            });
        }
        vec![
            Cell::Name {
                text: one.name.clone(),
            },
            Cell::Text { runs },
        ]
    };
    let columns = [("item", 4), ("used-in", 9)];
    let mut blocks: Vec<Block> = Vec::new();
    for (kind, key) in [
        ("tool", "tools"),
        ("supply", "supplies"),
        ("caution", "kind-caution-leaf"),
        ("procedure", "procedures"),
    ] {
        let rows = uses.iter().filter(|one| one.kind == kind).map(row);
        blocks.extend(desk.table_section(key, &columns, rows.collect()));
    }
    for machine in shop.machines.values() {
        let own = uses
            .iter()
            .filter(|one| one.machine.as_ref() == Some(&machine.id));
        let rows: Vec<_> = own.map(row).collect();
        if !rows.is_empty() {
            let title = &machine.name.value;
            blocks.push(Block::Section(super::Section {
                title: title.clone(),
                anchor: machine.id.clone(),
                from: None,
                blocks: vec![desk.table(title, &columns, rows)],
            }));
        }
    }
    if blocks.is_empty() {
        return None;
    }
    blocks.push(desk.notices());
    let naming = Naming {
        title: desk.words().get("kind-where-used").to_owned(),
        machine: None,
        revision: None,
        revised: None,
        facts: Vec::new(),
        entries: &[],
        path: LeafKind::WhereUsed.slug().to_owned(),
    };
    Some(desk.leaf(naming, blocks))
}
