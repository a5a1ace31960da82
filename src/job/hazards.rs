//! Puts cautions above steps.
//!
//! A caution belongs to the thing that brings it. It is printed above the first step of a procedure with an
//! action on that thing, whether or not the author wrote it there, and at most once in a section.

use super::data::{JobItem, JobSection};
use crate::finding::{FileId, Located};
use crate::model::{Action, Thing};
use crate::shop::{Caution, CautionId, Fluid, Machine, Shop};
use crate::verbs::{ActionClass, Trait};

/// The cautions shown so far in a job, each with the file of the procedure that shows it. Each procedure shows
/// its cautions again, because signatures, and perhaps a night, separate it from the one before.
///
/// A list is faster than a set here, because a job has few cautions.
pub(super) type SeenCautions<'a> = Vec<(FileId, &'a Caution)>;

/// Adds to each step the cautions that its things bring, and sorts them by severity. `seen` is updated.
pub(super) fn place<'a>(
    sections: &mut [JobSection<'a>],
    shop: &'a Shop,
    machine: &'a Machine,
    seen: &mut SeenCautions<'a>,
) {
    let mut shown: Vec<&Caution> = Vec::new();
    let mut brought: Vec<&Caution> = Vec::new();
    for section in sections {
        let origin = section.origin.file;
        shown.clear();
        for item in &mut section.items {
            let JobItem::Step(step) = item else { continue };
            for action in step.all_actions() {
                // Most things bring nothing. Plain loops over nothing cost less than a flattened iterator.
                for ids in brought_by(action, shop, machine) {
                    for id in ids {
                        let caution = &shop.cautions[id.value];
                        let applies = caution.at.is_empty() || caution.at.contains(&action.verb);
                        if applies && !is_seen(seen, origin, caution) {
                            brought.push(caution);
                        }
                    }
                }
            }
            step.cautions.append(&mut brought);
            if step.cautions.is_empty() {
                continue;
            }
            step.cautions.retain(|caution| {
                let is_new = !shown.iter().any(|earlier| is_same(earlier, caution));
                if is_new {
                    shown.push(caution);
                }
                is_new
            });
            step.cautions.sort_by_key(|caution| caution.signal_word);
            for caution in step.cautions.iter().copied() {
                if !is_seen(seen, origin, caution) {
                    seen.push((origin, caution));
                }
            }
        }
    }
}

fn is_seen(seen: &SeenCautions<'_>, origin: FileId, caution: &Caution) -> bool {
    seen.iter()
        .any(|(file, earlier)| *file == origin && is_same(earlier, caution))
}

/// Compares by address: a shop has each caution once.
fn is_same(left: &Caution, right: &Caution) -> bool {
    std::ptr::eq(left, right)
}

/// The cautions that an action's thing brings. A fluid also brings those of its supply.
fn brought_by<'a>(
    action: &Action<'a>,
    shop: &'a Shop,
    machine: &'a Machine,
) -> [&'a [Located<CautionId>]; 3] {
    let spec = action.verb.spec();
    let by_fluid = |fluid: &'a Fluid| {
        let supply = shop.supply_of(fluid);
        (
            fluid.cautions.as_slice(),
            supply.map_or(&[] as &[_], |supply| &supply.cautions),
        )
    };
    let (of_thing, (of_fluid, of_supply)): (&[_], (&[_], &[_])) = match action.thing {
        // A reference to a thing does not expose anyone to it.
        _ if spec.class == ActionClass::Refer => Default::default(),
        Thing::Part(part) => {
            let spills = spec.has(Trait::OpensJoint);
            let carries = part.carries.as_ref().filter(|_| spills);
            let fluid = carries.map(|id| &machine.fluids[id.value]);
            (&part.cautions, fluid.map(by_fluid).unwrap_or_default())
        }
        Thing::Fluid(fluid) => (&[], by_fluid(fluid)),
        Thing::Energy(energy) => (&energy.cautions, Default::default()),
        Thing::Supply(supply) => (&supply.cautions, Default::default()),
        Thing::Reading(reading) => (&reading.cautions, Default::default()),
        _ => Default::default(),
    };
    [of_thing, of_fluid, of_supply]
}
