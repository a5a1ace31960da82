//! See [`RULE`].

use crate::dry_run::{EnergyState, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// An energy is proved or restored while it is live.
    ///
    /// ## At the bench
    ///
    /// A spring that was never let down is wound up twice, and the rope breaks.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [energy.spring-lever]
    /// name = "spring of the lever"
    /// kind = "spring"
    /// isolate = "Hook the lever down"
    /// prove = "Let go: the lever stays"
    /// restore = "Unhook the lever"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](restore:spring-lever)
    /// ```
    ///
    /// ## Mend
    ///
    /// Say where it is isolated, most simply with `begin = ["make-safe"]`, or take this step out.
    "energy-not-isolated", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let (Verb::Prove | Verb::Restore, Thing::Energy(energy)) = (scene.act.verb, scene.act.thing)
    else {
        return;
    };
    let Some(state) = scene.before.energy(&energy.id) else {
        return;
    };
    if state.now != EnergyState::Live {
        return;
    }
    let (verb, id) = (scene.act.verb.word(), &energy.id);
    let message = format!("`{verb}:{id}` comes while it is live");
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "")
        .help(format!(
            "add `[](isolate:{id})` before it, or take this step out"
        ));
    findings.push(super::since(finding, state.since, "made live here"));
}
