//! A hazard belongs to the thing that brings it: its message stands above the
//! first step that meets it, whether the author wrote it there or not, and
//! never twice in one section.

use super::{Act, Item, Job, Thing};
use crate::finding::Located;
use crate::prose::Verb;
use crate::shop::{Caution, Fluid, Machine, Shop};
use std::collections::BTreeSet;

/// Adds what the things of each step bring with them, and orders messages by severity.
pub(super) fn place(job: &mut Job<'_>) {
    let (shop, machine) = (job.shop, job.machine);
    // Met anew in each procedure: between them lie signatures, and perhaps a night.
    let mut met: BTreeSet<(&str, &str)> = BTreeSet::new();
    for section in &mut job.sections {
        let origin = section.origin.id.as_str();
        let mut shown: BTreeSet<&str> = BTreeSet::new();
        for item in &mut section.items {
            let Item::Step(step) = item else { continue };
            let brought: Vec<&Caution> = step
                .all_acts()
                .flat_map(|act| brought_by(act, shop, machine).map(|id| (act.verb, id)))
                .filter_map(|(verb, id)| {
                    let caution = shop.cautions.get(&id.value)?;
                    (caution.at.is_empty() || caution.at.contains(&verb)).then_some(caution)
                })
                .filter(|caution| !met.contains(&(origin, caution.id.as_str())))
                .collect();
            step.cautions.extend(brought);
            step.cautions.retain(|caution| shown.insert(&caution.id));
            step.cautions.sort_by_key(|caution| caution.word);
            met.extend(
                step.cautions
                    .iter()
                    .map(|caution| (origin, caution.id.as_str())),
            );
        }
    }
}

/// The cautions that an action's thing brings: a fluid brings its supply's besides its own.
fn brought_by<'a>(
    act: &Act<'a>,
    shop: &'a Shop,
    machine: &'a Machine,
) -> impl Iterator<Item = &'a Located<String>> {
    let none: (&[_], Option<&Fluid>) = (&[], None);
    let (own, fluid) = match (act.verb, act.thing) {
        // To name a thing is not yet to meet it.
        (Verb::See | Verb::Caution, _) => none,
        (verb, Thing::Part(part)) => {
            let spills = matches!(verb, Verb::Remove | Verb::Slacken | Verb::Renew);
            let carries = part.carries.as_ref().filter(|_| spills);
            let fluid = carries.and_then(|id| machine.fluids.get(&id.value));
            (part.brings.as_slice(), fluid)
        }
        (_, Thing::Fluid(fluid)) => (&[] as &[_], Some(fluid)),
        (_, Thing::Energy(energy)) => (energy.brings.as_slice(), None),
        (_, Thing::Supply(supply)) => (supply.brings.as_slice(), None),
        (_, Thing::Reading(reading)) => (reading.brings.as_slice(), None),
        _ => none,
    };
    let of_fluid = fluid.map_or(&[] as &[_], |fluid| &fluid.brings);
    let supply = fluid.and_then(|fluid| shop.supplies.get(&fluid.supply.value));
    let of_supply = supply.map_or(&[] as &[_], |supply| &supply.brings);
    own.iter().chain(of_fluid).chain(of_supply)
}
