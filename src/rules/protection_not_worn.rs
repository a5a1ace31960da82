//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::Scene;

rule! {
    /// The message above a step asks for protection that nobody has put on by then.
    ///
    /// `protects` on a tool names the mandatory signs of ISO 7010 that it complies with: eye protection `["M004"]`.
    /// If a message has such a sign, a `use:` of one of these tools has to come before the step, or be in it.
    ///
    /// ## At the bench
    ///
    /// Cleaner sprays back into an eye, and the glasses are two steps further down.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.glasses]
    /// name = "safety glasses"
    /// protects = ["M004"]
    /// === + cautions.toml
    /// [caution.spray]
    /// signal-word = "caution"
    /// signs = ["M004"]
    /// hazard = "Grease sprays"
    /// consequence = "Eye irritation"
    /// avoid = "Wear eye protection"
    /// === + machines/hand-pump.toml
    /// [part.nipple]
    /// name = "nipple"
    /// cautions = ["spray"]
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
    /// 2. Put on the [glasses](use:glasses).
    /// ```
    ///
    /// ## Fix
    ///
    /// Put the protection on before the step that needs it.
    "protection-not-worn", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Step(check)];

fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for caution in &scene.step.cautions {
        for sign in &caution.signs {
            let protecting = || {
                let tools = scene.shop.protective.iter();
                let tools = tools.map(|id| &scene.shop.tools[*id]);
                tools.filter(|tool| tool.protects.iter().any(|of| of.value == sign.value))
            };
            if protecting().next().is_none() || protecting().any(|tool| scene.is_at_hand(tool.id)) {
                continue;
            }
            let names: Vec<String> = protecting()
                .map(|tool| format!("`[](use:{})`", tool.key))
                .collect();
            // Which of several is right depends on the work.
            let mut tools = protecting();
            let only = tools
                .next()
                .filter(|_| tools.next().is_none())
                .map(|tool| format!("use:{}", tool.key));
            let message = format!(
                "`{}` asks for protection (`{}`), and none is put on before",
                caution.key, sign.value
            );
            findings.push(
                scene
                    .finding(&RULE, message, "the message is printed here")
                    .secondary(sign.span, "asks for it")
                    .help(format!("add {} before this step", names.join(" or ")))
                    .propose(Place::Before, only),
            );
        }
    }
}
