//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A fluid is filled in while a part that carries it is off or loose.
    ///
    /// ## At the bench
    ///
    /// It runs out where the part was.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// [valve.cock]
    /// name = "cock"
    /// shuts = "water"
    /// [part.hose]
    /// name = "hose"
    /// carries = "water"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](close:cock)
    /// 2. [](remove:hose)
    /// 3. [](fill:water)
    /// 4. [](fit:hose)
    /// 5. [](inspect:hose)
    /// 6. [](open:cock)
    /// ```
    ///
    /// ## Mend
    ///
    /// Put the part back first.
    "filled-into-open-system", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let (Verb::Fill, Thing::Fluid(fluid)) = (scene.act.verb, scene.act.thing) else {
        return;
    };
    for (id, state) in scene.before.parts() {
        let part = scene.job.machine.parts.get(id);
        let carries = part.and_then(|part| part.carries.as_ref());
        if state.place == PartPlace::On || carries.is_none_or(|carries| carries.value != fluid.id) {
            continue;
        }
        let message = format!("`{}` is filled in while `{id}` is open", fluid.id);
        let finding = Finding::new(&RULE, message)
            .in_job(super::name(scene.job))
            .at(scene.at.span, "filled here");
        findings.push(super::since(finding, state.since, "opened here"));
    }
}
