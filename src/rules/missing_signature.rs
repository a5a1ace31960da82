//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::ThingId;

rule! {
    /// The engine is run or the job ends before the required second person has signed.
    ///
    /// `signed-by` on a part, a fluid, a reading or `[run]` names the role that must sign.
    ///
    /// ## At the bench
    ///
    /// A wrong torque on a blade bolt can kill. The second signature exists to catch it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// signed-by = "mechanic"
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
    /// Add `[](hold:…)` after the work, with the points to check below it.
    "missing-signature", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Action(&[Verb::Run], before_run), On::Ending(at_end)];

fn before_run(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for (role, thing, since) in scene.before.account().unsigned() {
        // All runs of the engine are signed for together, when the job ends.
        if thing == ThingId::Engine {
            continue;
        }
        let (shop, machine) = (scene.shop, scene.machine);
        let (role, thing) = (&shop.roles[role].key, thing.key(shop, machine));
        let message = format!("the engine is run before `{role}` has signed for `{thing}`");
        findings.push(
            scene
                .finding(&RULE, message, "run here")
                .secondary(since.span, "done here")
                .help(format!("{}, before the engine is run", help(role)))
                .propose(Place::Before, [format!("hold:{role}")]),
        );
    }
}

fn at_end(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (role, thing, since) in ending.end.account().unsigned() {
        let (shop, machine) = (ending.job.shop, ending.job.machine);
        let (role, thing) = (&shop.roles[role].key, thing.key(shop, machine));
        let message = format!("`{role}` has not signed for `{thing}` when the job ends");
        findings.push(
            ending
                .finding(&RULE, message, Some(since), "done here")
                .help(help(role))
                .propose(Place::Late, [format!("hold:{role}")]),
        );
    }
}

fn help(role: &str) -> String {
    format!("add `[](hold:{role})` after this work")
}
