//! See [`RULE`].

use super::advice::confirming;
use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::verbs::conditions_needed;

rule! {
    /// A fluid is drained or filled, or its line opened, before a condition that it needs is confirmed.
    ///
    /// `needs` on a fluid names the conditions.
    ///
    /// ## At the bench
    ///
    /// Petrol runs onto a hot muffler.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [condition.cold]
    /// name = "cold"
    /// lost-by = "nothing"
    /// [fluid.water]
    /// supply = "grease"
    /// needs = ["cold"]
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](fill:water)
    /// ```
    ///
    /// ## Fix
    ///
    /// Confirm the condition first, once it holds.
    "fluid-condition-unmet", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Action(&[Verb::Drain, Verb::Fill, Verb::Remove], check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for need in conditions_needed(scene.machine, scene.action.verb, scene.action.thing) {
        if scene.before.condition(need.value).is_some() {
            continue;
        }
        let (verb, id) = (scene.action.verb.word(), scene.action.thing.key());
        let condition = &scene.machine.conditions[need.value].key;
        let message = format!("`{verb}:{id}` is done {}", scene.unmet(need.value));
        findings.push(
            scene
                .finding(&RULE, message, "done here")
                .secondary(need.span, "required condition")
                .help(confirming(scene, need.value))
                .blame_condition(scene, need.value)
                .propose(Place::Before, [format!("confirm:{condition}")]),
        );
    }
}
