//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is refitted on the seal that it was removed from.
    ///
    /// `seals` on a seal names the parts whose joint it seals.
    ///
    /// ## At the bench
    ///
    /// A gasket that was compressed once does not seal a second time.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [part.seal]
    /// name = "seal"
    /// single-use = true
    /// seals = ["lid"]
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
    /// Remove the old seal and renew it before refitting the part, or correct `seals` on the machine.
    "old-seal-reused", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if before.place != PartPlace::Off {
        return;
    }
    let removed_at = before.how.map(|(_, index)| index);
    for sealed in &scene.machine.named_by[part.id].seals {
        let seal = &scene.machine.parts[sealed.value];
        let state = scene.before.part(seal.id);
        let is_new = state.how.is_some_and(|(_, index)| Some(index) > removed_at);
        // `part-left-off` reports a seal that is off.
        if is_new || state.place == PartPlace::Off {
            continue;
        }
        let message = format!("`{}` is refitted on the old `{}`", part.key, seal.key);
        findings.push(
            scene
                .finding(&RULE, message, "refitted here")
                .secondary(sealed.span, "seals this part")
                .help(format!(
                    "add `[](remove:{id})` and `[](renew:{id})` before this step",
                    id = seal.key
                ))
                .propose(
                    Place::Back,
                    [
                        format!("remove:{}", seal.key),
                        format!("renew:{}", seal.key),
                    ],
                )
                .since(before.since, "removed here"),
        );
    }
}
