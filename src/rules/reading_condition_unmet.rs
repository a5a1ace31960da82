//! See [`RULE`].

use super::advice::confirming;
use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Reading;
use crate::verbs::conditions_needed;

rule! {
    /// A reading is measured before a condition that it needs is confirmed.
    ///
    /// ## At the bench
    ///
    /// A speed that is set on a cold engine is wrong once the engine is warm.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [condition.warm]
    /// name = "pump warm"
    /// lost-by = "nothing"
    /// [reading.lift]
    /// name = "lift, warm"
    /// limits = "40 mm ± 5 mm"
    /// needs = ["warm"]
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](measure:lift)
    /// ```
    ///
    /// ## Fix
    ///
    /// Confirm the condition before the reading, once it holds.
    "reading-condition-unmet", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Measure], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    for need in conditions_needed(scene.machine, scene.action.verb, scene.action.thing) {
        if scene.before.condition(need.value).is_some() {
            continue;
        }
        let condition = &scene.machine.conditions[need.value].key;
        let message = format!("`{}` is measured {}", reading.key, scene.unmet(need.value));
        findings.push(
            scene
                .finding(&RULE, message, "measured here")
                .secondary(need.span, "required condition")
                .help(confirming(scene, need.value))
                .blame_condition(scene, need.value)
                .propose(Place::Before, [format!("confirm:{condition}")]),
        );
    }
}
