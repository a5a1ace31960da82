//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part that is used once only is renewed while the old one is still in.
    ///
    /// ## At the bench
    ///
    /// Two gaskets in one joint: the old one hid on the other face, and the joint weeps.
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
    /// ## Mend
    ///
    /// Say where the old one comes off: `[](remove:…)`.
    "doubled-seal", DryRun, Warning => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let before = scene.before.of(part);
    let is_renewed = scene.act.verb == Verb::Renew && part.renew;
    // Where nothing is in front of it, to fit the new one is to see the old one.
    if !is_renewed || part.behind.is_empty() || before.place == PartPlace::Off {
        return;
    }
    let id = &part.id;
    let message = format!("a new `{id}` goes in while the old one is still there");
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "")
        .help(format!("add `[](remove:{id})` before it"));
    findings.push(super::since(finding, before.since, "last put on here"));
}
