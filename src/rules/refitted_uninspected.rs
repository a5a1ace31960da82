//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part with a reuse limit is refitted without being inspected since it was last fitted.
    ///
    /// `reuse`, `limits` and the wear limits of its dimensions say when a part may be used again. If only the dimensions
    /// do, it is inspected when all of them are measured. A part with `clean = true` must be inspected after it is cleaned.
    ///
    /// ## At the bench
    ///
    /// A cracked blade can be refitted as easily as a sound one.
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
    /// ## Fix
    ///
    /// Add `[](inspect:…)` before the part is refitted, or renew it.
    "refitted-uninspected", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    let is_back = before.place == PartPlace::Off;
    if !is_back || !part.is_judged() || part.single_use || before.inspected.is_some() {
        return;
    }
    let id = &part.key;
    let message = match before.cleaned {
        Some(_) if part.clean => {
            format!("`{id}` is refitted without being inspected after cleaning")
        }
        _ => format!("`{id}` is refitted without being inspected"),
    };
    findings.push(
        scene
            .finding(&RULE, message, "refitted here")
            .help(format!("add `[](inspect:{id})` before it is refitted"))
            .propose(Place::Back, [format!("inspect:{id}")])
            .since(before.since, "removed here"),
    );
}
