//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::Scene;

rule! {
    /// The message above a step asks for equipment that nobody has laid ready by then.
    ///
    /// `at-hand` on a caution names the tools that its precautions ask for. A `use:` of each has to come before the
    /// first step with the message, or be in it.
    ///
    /// ## At the bench
    ///
    /// Petrol burns, and the extinguisher is in the next room.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.extinguisher]
    /// name = "fire extinguisher"
    /// === + cautions.toml
    /// [caution.fire]
    /// signal-word = "danger"
    /// at-hand = ["extinguisher"]
    /// hazard = "The solvent on it burns"
    /// consequence = "Burns"
    /// avoid = "Keep the extinguisher within reach"
    /// === + machines/hand-pump.toml
    /// [part.nipple]
    /// name = "nipple"
    /// cautions = ["fire"]
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](clean:nipple)
    /// ```
    ///
    /// ## Fix
    ///
    /// Lay the equipment ready before the step that needs it.
    "equipment-not-at-hand", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Step(check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for caution in &scene.step.cautions {
        for tool in &caution.at_hand {
            if scene.is_at_hand(tool.value) {
                continue;
            }
            let key = &scene.shop.tools[tool.value].key;
            let message = format!("`{}` asks for `{key}`, and it is not at hand", caution.key);
            findings.push(
                scene
                    .finding(&RULE, message, "the message is printed here")
                    .secondary(tool.span, "asks for it")
                    .help(format!("add `[](use:{key})` before this step"))
                    .propose(Place::Before, [format!("use:{key}")])
                    .because_of(Blamed::Equipment(key), None),
            );
        }
    }
}
