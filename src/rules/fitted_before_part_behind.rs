//! See [`RULE`].

use super::advice::{actions_of_closing, closing};
use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is fitted while a part that belongs behind it is still off.
    ///
    /// ## At the bench
    ///
    /// The part in front must come off again to fit the one behind it.
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
    /// 4. [](fit:lid)
    /// 5. [](fit:plate)
    /// 6. [](fit:plate-screw)
    /// 7. [](tighten:plate-screw)
    /// ```
    ///
    /// ## Fix
    ///
    /// Fit the part behind first, or correct `behind` on the machine.
    "fitted-before-part-behind", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    if scene.before.part(part.id).place != PartPlace::Off {
        return;
    }
    for front in &scene.machine.named_by[part.id].behind {
        let state = scene.before.part(front.value);
        if state.place != PartPlace::Off {
            continue;
        }
        let id = &scene.machine.parts[front.value].key;
        let message = format!(
            "`{}` is fitted while `{id}`, which is behind it, is still off",
            part.key,
        );
        findings.push(
            scene
                .finding(&RULE, message, "fitted here")
                .secondary(front.span, "is in front of it")
                .help(closing(&scene.machine.parts[front.value], state.place))
                .propose_undoing(
                    state.since.map(|moment| moment.span),
                    actions_of_closing(
                        scene.before,
                        scene.machine,
                        &scene.machine.parts[front.value],
                    ),
                )
                .since(state.since, "removed here"),
        );
    }
}
