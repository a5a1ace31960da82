//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part that others lay open is covered again, and nobody has looked at it.
    ///
    /// `laid-open-by` on a part names them.
    ///
    /// ## At the bench
    ///
    /// The worn hook in the cup is found when the rope hangs out again.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [part.spring]
    /// name = "spring"
    /// laid-open-by = ["lid"]
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
    /// Add `[](inspect:…)` while it lies open.
    "laid-open-unseen", DryRun, Warning => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(cover) = scene.act.thing else {
        return;
    };
    let before = scene.before.of(cover);
    let is_put_on = matches!(scene.act.verb, Verb::Fit | Verb::Renew);
    if !is_put_on || before.place != PartPlace::Off {
        return;
    }
    for part in scene.machine.parts.values() {
        let opened = part.laid_open_by.iter().find(|one| one.value == cover.id);
        let Some(opened) = opened else { continue };
        let state = scene.before.of(part);
        // One that was renewed was looked at when it went in.
        let is_new = matches!(state.how, Some((Verb::Renew, _)));
        if state.inspected.is_some() || state.place == PartPlace::Off || is_new {
            continue;
        }
        let (id, cover) = (&part.id, &cover.id);
        let message = format!("`{cover}` covers `{id}` again and nobody has looked at it");
        let finding = Finding::new(&RULE, message)
            .in_job(scene.job.to_string())
            .at(scene.at.span, "covered here")
            .and(opened.span, "lies open when this is off")
            .help(format!("add `[](inspect:{id})` before it"));
        findings.push(super::since(finding, before.since, "laid open here"));
    }
}
