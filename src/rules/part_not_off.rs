//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

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
    /// ## Fix
    ///
    /// Say where it comes off, or take the step out.
    "part-not-off", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if before.place == PartPlace::Off {
        return;
    }
    let id = &part.key;
    let message = format!("`{id}` is fitted, but is already fitted");
    findings.push(
        scene
            .finding(&RULE, message, "already fitted")
            .help(format!(
                "add `[](remove:{id})` before it, or delete this step"
            ))
            .since(before.since, "last fitted or loosened here"),
    );
}
