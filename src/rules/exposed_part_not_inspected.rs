//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part that was exposed is covered again without being inspected.
    ///
    /// `laid-open-by` on a part names the parts that expose it when they are off.
    ///
    /// ## At the bench
    ///
    /// The worn hook in the cup is found only when the starter rope fails to rewind again.
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
    /// ## Fix
    ///
    /// Add `[](inspect:…)` while the part is exposed.
    "exposed-part-not-inspected", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, cover: &Part, findings: &mut Findings) {
    let before = scene.before.part(cover.id);
    if before.place != PartPlace::Off {
        return;
    }
    for opened in &scene.machine.named_by[cover.id].laid_open {
        let part = &scene.machine.parts[opened.value];
        let state = scene.before.part(part.id);
        // A renewed part was seen when it was fitted.
        let is_new = matches!(state.how, Some((Verb::Renew, _)));
        if state.inspected.is_some() || state.place == PartPlace::Off || is_new {
            continue;
        }
        let (id, cover) = (&part.key, &cover.key);
        let message = format!("`{id}` is covered by `{cover}` before it is inspected");
        findings.push(
            scene
                .finding(&RULE, message, "covered here")
                .secondary(opened.span, "exposed when this is off")
                .help(format!("add `[](inspect:{id})` before this step"))
                .propose(Place::Back, [format!("inspect:{id}")])
                .since(before.since, "exposed here"),
        );
    }
}
