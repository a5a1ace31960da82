//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part that must be cleaned when it is off is refitted without cleaning, or is cleaned while it is on.
    ///
    /// Such a part has `clean = true` on the machine.
    ///
    /// ## At the bench
    ///
    /// Dirt from the bench goes into the engine.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// clean = true
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](remove:lid)
    /// 2. [](fit:lid)
    /// ```
    ///
    /// ## Fix
    ///
    /// Add `[](clean:…)` while the part is off. If it does not need cleaning, remove `clean` from its
    /// record.
    "refitted-dirty", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[
    On::Part(&[Verb::Fit], check_fit),
    On::Part(&[Verb::Clean], check_clean),
];

fn check_fit(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if part.clean && before.place == PartPlace::Off && before.cleaned.is_none() {
        let id = &part.key;
        let message = format!("`{id}` is refitted without being cleaned");
        findings.push(
            scene
                .finding(&RULE, message, "")
                .help(format!("add `[](clean:{id})` before it is refitted"))
                .since(before.since, "removed here"),
        );
    }
}

fn check_clean(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if part.clean && before.place != PartPlace::Off {
        let id = &part.key;
        let message = format!("`{id}` is cleaned while it is on");
        findings.push(
            scene
                .finding(&RULE, message, "")
                .help(format!(
                    "move this step between the one that removes `{id}` and the one that refits it"
                ))
                .since(before.since, "fitted here"),
        );
    }
}
