//! See [`RULE`].

use super::check::On;
use super::context::{Blamed, Ending};
use crate::finding::{Findings, Level, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part that must be cleaned when it is off is refitted without cleaning.
    ///
    /// Such a part has `clean = true` on the machine. Cleaning it before it comes off does not count. If a job cleans
    /// it and never takes it off, that is advice: perhaps the step that removes it is missing.
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
    /// Add `[](clean:…)` between the step that removes the part and the one that refits it.
    "refitted-dirty", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit], check_fit), On::Ending(check_ending)];

fn check_fit(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if !part.clean || before.place != PartPlace::Off {
        return;
    }
    let cleaned = before.cleaned.map(|cleaned| cleaned.index);
    if cleaned > before.removed_at {
        return;
    }
    let id = &part.key;
    let message = match before.cleaned {
        Some(_) => format!("`{id}` is refitted without being cleaned while it was off"),
        None => format!("`{id}` is refitted without being cleaned"),
    };
    findings.push(
        scene
            .finding(&RULE, message, "refitted here")
            .help(format!(
                "add `[](clean:{id})` between the step that removes it and this one"
            ))
            .propose(Place::Back, [format!("clean:{id}")])
            .since(before.since, "removed here")
            .since(before.cleaned, "cleaned here while it was on"),
    );
}

fn check_ending(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (part, state) in ending.end.parts() {
        if !part.clean || state.cleaned.is_none() || state.removed_at.is_some() {
            continue;
        }
        let id = &part.key;
        let message = format!("`{id}` is cleaned, but never comes off");
        let finding = ending
            .finding(&RULE, message, state.cleaned, "cleaned here")
            .because_of(Blamed::Part(id), None);
        let mut finding = finding.help(format!(
            "add `[](remove:{id})` before this step; if it is cleaned in its place, ignore this"
        ));
        finding.level = Level::Advice;
        findings.push(finding);
    }
}
