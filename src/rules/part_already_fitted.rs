//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is fitted although it is already fitted.
    ///
    /// ## At the bench
    ///
    /// The step can't be done. Perhaps the step that removes the part is missing.
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
    /// Write `remove:` in the step that takes the part off, or delete this step if none does.
    "part-already-fitted", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if before.place == PartPlace::Off {
        return;
    }
    let id = &part.key;
    let message = format!("`{id}` is fitted but is already fitted");
    findings.push(
        scene
            .finding(&RULE, message, "already fitted")
            .help(format!(
                "write `[](remove:{id})` in the step that takes it off; delete this step if none does"
            ))
            .blame(Blamed::Part(id), before.since, "last fitted or loosened here"),
    );
}
