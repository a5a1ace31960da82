//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part that says when it may be used again goes back, and nobody has looked at it since it was last put on.
    ///
    /// `reuse` and `limits` on a part say when it may be used again. A part with `clean = true` is looked at
    /// when it is clean.
    ///
    /// ## At the bench
    ///
    /// A cracked blade goes back as easily as a whole one.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// reuse = "No crack"
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
    /// ## Mend
    ///
    /// Add `[](inspect:…)` before it goes back, or renew it.
    "refitted-unseen", DryRun, Warning => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let before = scene.before.of(part);
    let is_back = scene.act.verb == Verb::Fit && before.place == PartPlace::Off;
    let has_limit = part.reuse.is_some() || part.limits.is_some();
    if !is_back || !has_limit || part.renew || before.inspected.is_some() {
        return;
    }
    let id = &part.id;
    let message = match before.cleaned {
        Some(_) if part.clean => format!("`{id}` goes back and nobody has looked at it clean"),
        _ => format!("`{id}` goes back and nobody has looked at it"),
    };
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "goes back here")
        .help(format!("add `[](inspect:{id})` before it goes back"));
    findings.push(super::since(finding, before.since, "taken off here"));
}
