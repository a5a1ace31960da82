//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A single-use part is renewed while the old one is still fitted.
    ///
    /// ## At the bench
    ///
    /// The old gasket stays on the other face. The joint then has two gaskets, and leaks.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    ///
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
    /// 3. [](renew:cover-gasket)
    /// 4. [](fit:cover)
    /// 5. [](fit:cover-nut)
    /// 6. [](tighten:cover-nut)
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the old part first: `[](remove:…)`.
    "old-part-not-removed", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    // If nothing is in front of the part, whoever fits the new one sees the old one.
    if !part.single_use || part.behind.is_empty() || before.place == PartPlace::Off {
        return;
    }
    let id = &part.key;
    let message = format!("a new `{id}` is fitted, but the old one was not removed");
    findings.push(
        scene
            .finding(&RULE, message, "")
            .help(format!("add `[](remove:{id})` before this step"))
            .propose(Place::Back, [format!("remove:{id}")])
            .blame(Blamed::Part(id), before.since, "last fitted here"),
    );
}
