//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Part;

rule! {
    /// A linkage is refitted in a position other than the one in the machine's file.
    ///
    /// If a job moves the linkage intentionally, end the step with `{waive="refitted-in-wrong-position:
    /// why"}`; the reason is printed.
    ///
    /// ## At the bench
    ///
    /// With the governor rod in the wrong hole, the engine overspeeds.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lever]
    /// name = "lever"
    /// positions = ["inner hole", "outer hole"]
    /// position = "inner hole"
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Do
    ///
    /// 1. [](remove:lever)
    /// 2. [](fit:lever/outer-hole)
    /// ```
    ///
    /// ## Fix
    ///
    /// Fit it in its own position: `fit:lever`, or `fit:lever/inner-hole`.
    "refitted-in-wrong-position", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let Some(position) = scene.action.position else {
        return;
    };
    let Some(known) = part
        .position
        .as_ref()
        .filter(|known| known.value != position)
    else {
        return;
    };
    let message = format!(
        "`{}` is fitted in the {position}, but its position is the {}",
        part.key, known.value
    );
    findings.push(
        scene
            .finding(&RULE, message, "fitted here")
            .secondary(known.span, "its position"),
    );
}
