//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use super::shared::holding;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is removed while a fastener that holds it is tight, or while one that passes through it is not out.
    ///
    /// ## At the bench
    ///
    /// It does not come off until something breaks.
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
    /// 2. [](remove:plate)
    /// 3. [](remove:plate-screw)
    /// 4. [](fit:plate)
    /// 5. [](fit:plate-screw)
    /// 6. [](tighten:plate-screw)
    /// 7. [](fit:lid)
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove or slacken the fastener first, or correct `held-by` on the machine.
    "part-still-held", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Remove], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    if scene.before.part(part.id).place == PartPlace::Off {
        return;
    }
    for (holder, state) in holding(scene, part) {
        let fastener = &scene.machine.parts[holder.value].key;
        let message = format!(
            "`{}` is removed while `{fastener}` still holds it",
            part.key
        );
        let passes_through = state.place == PartPlace::Loose;
        let help = if passes_through || !scene.machine.parts[holder.value].stack.is_empty() {
            format!("add `[](remove:{fastener})` before this step")
        } else {
            format!("add `[](remove:{fastener})` or `[](slacken:{fastener})` before this step")
        };
        let since = if passes_through {
            "loosened here"
        } else {
            "last tightened here"
        };
        findings.push(
            scene
                .finding(&RULE, message, "removed here")
                .secondary(holder.span, "holds it")
                .help(help)
                .propose(Place::Back, [format!("remove:{fastener}")])
                .propose(Place::Back, [format!("slacken:{fastener}")])
                .blame(Blamed::Part(fastener), state.since, since),
        );
    }
}
