//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A fluid is filled in while a part that carries it, or its drain plug, is off or loose.
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
    for (part, state) in scene.before.parts() {
        let id = &part.id;
        let mut fluids = [&part.carries, &part.drains].into_iter().flatten();
        let holds = fluids.any(|one| one.value == fluid.id);
        if state.place == PartPlace::On || !holds {
            continue;
        }
        let message = format!("`{}` is filled in while `{id}` is open", fluid.id);
        let finding = Finding::new(&RULE, message)
            .in_job(scene.job.to_string())
            .at(scene.at.span, "filled here");
        findings.push(super::since(finding, state.since, "opened here"));
    }
}
