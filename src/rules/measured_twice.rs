//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Reading;

rule! {
    /// A reading is measured twice, and nothing was done in between.
    ///
    /// ## At the bench
    ///
    /// The second figure will be a copy of the first. Perhaps the step that adjusts the reading is
    /// missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](measure:stroke)
    /// 2. [](inspect:pump-rod)
    /// 3. [](measure:stroke)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write what is adjusted or done between the two as an action. If nothing is, keep the first.
    "measured-twice", Rehearsal, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Measure], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    let Some(first) = scene.before.account().fresh(reading.id) else {
        return;
    };
    let message = format!(
        "`{}` is measured twice with nothing done in between",
        reading.key
    );
    findings.push(
        scene
            .finding(&RULE, message, "measured again here")
            .secondary(first.span, "first measured here")
            .help(format!(
                "write what is done in between as an action, such as `[](adjust:{})`; if nothing is, keep the first",
                reading.key
            )),
    );
}
