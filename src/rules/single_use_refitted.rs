//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A single-use part is refitted after it was removed.
    ///
    /// ## At the bench
    ///
    /// A compressed gasket leaks petrol onto a hot muffler.
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
    /// 1. [](remove:cover-nut)
    /// 2. [](remove:cover)
    /// 3. [](remove:cover-gasket)
    /// 4. [](fit:cover-gasket)
    /// 5. [](fit:cover)
    /// 6. [](fit:cover-nut)
    /// 7. [](tighten:cover-nut)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write `renew:` instead of `fit:`, which also puts a new part on the kit list.
    "single-use-refitted", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if !part.single_use || before.place != PartPlace::Off {
        return;
    }
    let id = &part.key;
    let message = format!("`{id}` is single-use but is refitted");
    findings.push(
        scene
            .finding(&RULE, message, "refitted here")
            .help(format!("write `[](renew:{id})` instead"))
            .propose(Place::Instead, [format!("renew:{id}")])
            .since(before.since, "removed here"),
    );
}
