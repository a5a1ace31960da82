//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part goes back on the seal that it came off.
    ///
    /// `seals` on a seal names the parts whose joint it seals.
    ///
    /// ## At the bench
    ///
    /// A gasket that was squeezed once does not seal a second time.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [part.seal]
    /// name = "seal"
    /// renew = true
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
    /// ## Mend
    ///
    /// Take the old seal off and renew it before the part goes back, or correct `seals` on the machine.
    "old-seal-kept", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let before = scene.before.of(part);
    let is_put_on = matches!(scene.act.verb, Verb::Fit | Verb::Renew);
    if !is_put_on || before.place != PartPlace::Off {
        return;
    }
    let came_off = before.how.map(|(_, count)| count);
    for seal in scene.machine.parts.values() {
        let Some(sealed) = seal.seals.iter().find(|one| one.value == part.id) else {
            continue;
        };
        let state = scene.before.of(seal);
        let is_new = state.how.is_some_and(|(_, count)| Some(count) > came_off);
        // One that is off has a rule of its own.
        if is_new || state.place == PartPlace::Off {
            continue;
        }
        let message = format!("`{}` goes back on the old `{}`", part.id, seal.id);
        let finding = Finding::new(&RULE, message)
            .in_job(scene.job.to_string())
            .at(scene.at.span, "goes back here")
            .and(sealed.span, "what it seals")
            .help(format!(
                "add `[](remove:{id})` and `[](renew:{id})` before it",
                id = seal.id
            ));
        findings.push(super::since(finding, before.since, "taken off here"));
    }
}
