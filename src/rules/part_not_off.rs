//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part is put on while it is on.
    ///
    /// ## At the bench
    ///
    /// A step that can't be done stops the job; perhaps the step that takes the part off is missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Clean
    ///
    /// 1. [](clean:cover)
    /// 2. [](fit:cover)
    /// ```
    ///
    /// ## Mend
    ///
    /// Say where it comes off, or take the step out.
    "part-not-off", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let before = scene.before.of(part);
    if scene.act.verb != Verb::Fit || before.place == PartPlace::Off {
        return;
    }
    let id = &part.id;
    let message = format!("`fit:{id}` comes while `{id}` is on");
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "it is on here")
        .help(format!(
            "add `[](remove:{id})` before it, or take this step out"
        ));
    findings.push(super::since(
        finding,
        before.since,
        "last put on or loosened here",
    ));
}
