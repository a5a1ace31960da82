//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Part;

rule! {
    /// A linkage goes back in another place than the machine's file says it sits in.
    ///
    /// Where a job means to move it, `{excuse="refitted-elsewhere: why"}` at the step's end says so, and the
    /// reason is printed.
    ///
    /// ## At the bench
    ///
    /// The governor rod in the wrong hole runs the engine away.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lever]
    /// name = "lever"
    /// seats = ["inner hole", "outer hole"]
    /// seat = "inner hole"
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
    /// ## Mend
    ///
    /// Fit it where it sat: `fit:lever`, or `fit:lever/inner-hole`.
    "refitted-elsewhere", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let Some(seat) = scene.action.seat else {
        return;
    };
    let Some(known) = part.seat.as_ref().filter(|known| known.value != seat) else {
        return;
    };
    let message = format!(
        "`{}` goes in the {seat} and sits in the {}",
        part.key, known.value
    );
    findings.push(
        scene
            .finding(&RULE, message, "fitted here")
            .secondary(known.span, "where it sits"),
    );
}
