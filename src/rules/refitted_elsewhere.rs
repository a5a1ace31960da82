//! See [`RULE`].

use crate::dry_run::Scene;
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;

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
    "refitted-elsewhere", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let (Thing::Part(part), Some(seat)) = (scene.act.thing, scene.act.seat) else {
        return;
    };
    let Some(known) = part.seat.as_ref().filter(|known| known.value != seat) else {
        return;
    };
    let message = format!(
        "`{}` goes in the {seat} and sits in the {}",
        part.id, known.value
    );
    findings.push(
        Finding::new(&RULE, message)
            .in_job(scene.job.to_string())
            .at(scene.at.span, "fitted here")
            .and(known.span, "where it sits"),
    );
}
