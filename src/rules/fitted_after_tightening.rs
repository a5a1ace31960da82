//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use super::shared::holding;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is fitted after the fasteners that hold it were tightened.
    ///
    /// ## At the bench
    ///
    /// The fasteners must come off again, and a gasket that was compressed can't be used again.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plate]
    /// name = "valve plate"
    /// behind = ["lid"]
    /// held-by = ["plate-screw"]
    /// [part.lid]
    /// name = "lid"
    /// [part.plate-screw]
    /// name = "plate screw"
    /// thread = "M5"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](remove:lid)
    /// 2. [](remove:plate-screw)
    /// 3. [](remove:plate)
    /// 4. [](fit:plate-screw)
    /// 5. [](tighten:plate-screw)
    /// 6. [](fit:plate)
    /// 7. [](fit:lid)
    /// ```
    ///
    /// ## Fix
    ///
    /// Fit the part before its fasteners are tightened.
    "fitted-after-tightening", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    if scene.before.part(part.id).place != PartPlace::Off {
        return;
    }
    let removed_at = scene.before.part(part.id).removed_at;
    for (holder, state) in holding(scene, part).filter(|(_, state)| state.place == PartPlace::On) {
        // `part-still-held` reports a fastener that was tight when the part came off, and
        // `fitted-before-part-behind` one that is also in front of the part.
        let is_in_front = part.behind.iter().any(|front| front.value == holder.value);
        let tightened = state.how.map(|(_, count)| count);
        if tightened < removed_at || is_in_front {
            continue;
        }
        let message = format!(
            "`{}` is fitted after `{}`, which holds it, was tightened",
            part.key, scene.machine.parts[holder.value].key,
        );
        findings.push(
            scene
                .finding(&RULE, message, "fitted here")
                .help(format!(
                    "fit `{}` first: move this step above the ones that fit and tighten `{}`",
                    part.key, scene.machine.parts[holder.value].key,
                ))
                .blame(
                    Blamed::Part(&scene.machine.parts[holder.value].key),
                    state.since,
                    "tightened here",
                ),
        );
    }
}
