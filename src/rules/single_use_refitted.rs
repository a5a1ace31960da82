//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part that is used once only goes back after it came off.
    ///
    /// ## At the bench
    ///
    /// A squeezed gasket leaks petrol on a hot muffler.
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
    /// ## Mend
    ///
    /// Write `renew:` in place of `fit:`, which puts a new one on the kit list.
    "single-use-refitted", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let before = scene.before.of(part);
    if scene.act.verb != Verb::Fit || !part.renew || before.place != PartPlace::Off {
        return;
    }
    let id = &part.id;
    let message = format!("`{id}` is single-use and goes back used");
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "goes back here")
        .help(format!("write `[](renew:{id})`"));
    findings.push(super::since(finding, before.since, "taken off here"));
}
