//! A hazard belongs to the thing that brings it: its message stands above the
//! first step that meets it, whether the author wrote it there or not, and
//! never twice in one section.

use super::{Action, JobItem, JobSection, Thing};
use crate::finding::{FileId, Located};
use crate::shop::{Caution, CautionId, Fluid, Machine, Shop};
use crate::verbs::{ActionClass, Trait};

/// The hazards that were met in a job so far, each with the procedure that met it: they are met anew
/// in each, because between them lie signatures, and perhaps a night.
///
/// A job meets few, so that a list is quicker gone through than any tree.
pub(super) type Met<'a> = Vec<(FileId, &'a Caution)>;

/// Adds what the things of each step bring with them, and orders messages by severity.
pub(super) fn place<'a>(
    sections: &mut [JobSection<'a>],
    shop: &'a Shop,
    machine: &'a Machine,
    met: &mut Met<'a>,
) {
    let mut shown: Vec<&Caution> = Vec::new();
    let mut brought: Vec<&Caution> = Vec::new();
    for section in sections {
        let origin = section.origin.file;
        shown.clear();
        for item in &mut section.items {
            let JobItem::Step(step) = item else { continue };
            for action in step.all_actions() {
                for id in brought_by(action, shop, machine).into_iter().flatten() {
                    let caution = &shop.cautions[id.value];
                    let is_at = caution.at.is_empty() || caution.at.contains(&action.verb);
                    let mut met = met.iter();
                    if is_at && !met.any(|(file, one)| *file == origin && is_same(one, caution)) {
                        brought.push(caution);
                    }
                }
            }
            step.cautions.append(&mut brought);
            if step.cautions.is_empty() {
                continue;
            }
            step.cautions.retain(|caution| {
                let is_new = !shown.iter().any(|one| is_same(one, caution));
                if is_new {
                    shown.push(caution);
                }
                is_new
            });
            step.cautions.sort_by_key(|caution| caution.word);
            for caution in step.cautions.iter().copied() {
                let mut known = met.iter();
                if !known.any(|(file, one)| *file == origin && is_same(one, caution)) {
                    met.push((origin, caution));
                }
            }
        }
    }
}

/// A shop has each of its cautions once.
fn is_same(one: &Caution, other: &Caution) -> bool {
    std::ptr::eq(one, other)
}

/// The cautions that an action's thing brings: a fluid brings its supply's besides its own.
fn brought_by<'a>(
    action: &Action<'a>,
    shop: &'a Shop,
    machine: &'a Machine,
) -> [&'a [Located<CautionId>]; 3] {
    let spec = action.verb.spec();
    let of_fluid = |fluid: &'a Fluid| {
        let supply = shop.supply_of(fluid);
        (
            fluid.brings.as_slice(),
            supply.map_or(&[] as &[_], |supply| &supply.brings),
        )
    };
    let (own, (of_fluid, of_supply)): (&[_], (&[_], &[_])) = match action.thing {
        // A reference to a thing brings nobody near it.
        _ if spec.class == ActionClass::Refer => Default::default(),
        Thing::Part(part) => {
            let spills = spec.has(Trait::OpensJoint);
            let carries = part.carries.as_ref().filter(|_| spills);
            let fluid = carries.map(|id| &machine.fluids[id.value]);
            (&part.brings, fluid.map(of_fluid).unwrap_or_default())
        }
        Thing::Fluid(fluid) => (&[], of_fluid(fluid)),
        Thing::Energy(energy) => (&energy.brings, Default::default()),
        Thing::Supply(supply) => (&supply.brings, Default::default()),
        Thing::Reading(reading) => (&reading.brings, Default::default()),
        _ => Default::default(),
    };
    [own, of_fluid, of_supply]
}
