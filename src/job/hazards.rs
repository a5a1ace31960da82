//! A hazard belongs to the thing that brings it: its message stands above the
//! first step that meets it, whether the author wrote it there or not, and
//! never twice in one section.

use super::{Act, Item, Job, Thing};
use crate::finding::Located;
use crate::prose::Verb;
use crate::shop::{Caution, Machine};
use std::collections::BTreeSet;

/// Adds what the things of each step bring with them, and orders messages by severity.
pub(super) fn place(job: &mut Job<'_>) {
    let (shop, machine) = (job.shop, job.machine);
    let mut met: BTreeSet<&str> = BTreeSet::new();
    for section in &mut job.sections {
        let mut shown: BTreeSet<&str> = BTreeSet::new();
        for item in &mut section.items {
            let Item::Step(step) = item else { continue };
            let brought: Vec<&Caution> = step
                .all_acts()
                .flat_map(|act| brought_by(act, machine))
                .filter_map(|id| shop.cautions.get(&id.value))
                .filter(|caution| !met.contains(caution.id.as_str()))
                .collect();
            step.cautions.extend(brought);
            step.cautions.retain(|caution| shown.insert(&caution.id));
            step.cautions.sort_by_key(|caution| caution.word);
            met.extend(step.cautions.iter().map(|caution| caution.id.as_str()));
        }
    }
}

/// The cautions that an action's thing brings.
fn brought_by<'a>(act: &Act<'a>, machine: &'a Machine) -> Vec<&'a Located<String>> {
    // To name a part is not yet to meet it.
    if matches!(act.verb, Verb::See | Verb::Caution) {
        return Vec::new();
    }
    match act.thing {
        Thing::Part(part) => {
            let fluid = part
                .carries
                .as_ref()
                .and_then(|id| machine.fluids.get(&id.value));
            let spills = matches!(act.verb, Verb::Remove | Verb::Slacken | Verb::Renew);
            let of_fluid = fluid
                .filter(|_| spills)
                .map(|fluid| fluid.brings.as_slice());
            part.brings
                .iter()
                .chain(of_fluid.unwrap_or_default())
                .collect()
        }
        Thing::Fluid(fluid) => fluid.brings.iter().collect(),
        Thing::Energy(energy) => energy.brings.iter().collect(),
        Thing::Supply(supply) => supply.brings.iter().collect(),
        _ => Vec::new(),
    }
}
