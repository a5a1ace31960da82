//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::{MachineAction, RunCondition};

rule! {
    /// A condition is confirmed before the actions that must come first.
    ///
    /// `after` on a condition names the actions.
    ///
    /// ## At the bench
    ///
    /// An engine that has not run yet is not warm, even if a step says so.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [condition.primed]
    /// name = "primed"
    /// lost-by = "nothing"
    /// after = ["fill:water"]
    /// [fluid.water]
    /// supply = "grease"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](confirm:primed)
    /// ```
    ///
    /// ## Fix
    ///
    /// Confirm the condition after those actions, once it holds, or correct `after` on the condition.
    "confirmed-too-early", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Condition(&[Verb::Confirm], check)];

fn check(scene: &Scene<'_, '_>, condition: &RunCondition, findings: &mut Findings) {
    for action in &condition.after {
        let MachineAction { verb, thing } = action.value;
        if scene.before.account().was_done(verb, thing) {
            continue;
        }
        let written = action.value.written(scene.shop, scene.machine);
        let message = format!(
            "`{}` is confirmed before `{written}` is done",
            condition.key
        );
        findings.push(
            scene
                .finding(&RULE, message, "confirmed here")
                .secondary(action.span, "must come first")
                .help(match verb {
                    Verb::Run => format!(
                        "confirm it after `[]({written})`, which is done when the machine is ready to run"
                    ),
                    _ => format!("add `[]({written})` before this step"),
                })
                // Nobody is told to start the engine at this place.
                .propose(
                    Place::Before,
                    (verb != Verb::Run).then(|| written.to_string()),
                ),
        );
    }
}
