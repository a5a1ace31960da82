//! See [`RULE`].

use crate::dry_run::Scene;
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A fluid is drained or filled, or its line opened, while a condition that it needs does not hold.
    ///
    /// `needs` on a fluid names the conditions.
    ///
    /// ## At the bench
    ///
    /// Petrol on a hot muffler.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [condition.cold]
    /// name = "cold"
    /// [fluid.water]
    /// supply = "grease"
    /// needs = ["cold"]
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](fill:water)
    /// ```
    ///
    /// ## Mend
    ///
    /// Confirm the condition before it, once it holds.
    "fluid-condition-unmet", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let fluid = match (scene.act.verb, scene.act.thing) {
        (Verb::Drain | Verb::Fill, Thing::Fluid(fluid)) => Some(fluid),
        (Verb::Remove, Thing::Part(part)) => {
            let carries = part.carries.as_ref();
            carries.and_then(|carries| scene.machine.fluids.get(&carries.value))
        }
        _ => None,
    };
    let Some(fluid) = fluid else { return };
    for need in &fluid.needs {
        if scene.before.condition(&need.value).is_some() {
            continue;
        }
        let (verb, id) = (scene.act.verb.word(), scene.act.thing.id());
        let message = format!(
            "`{verb}:{id}` comes while nobody has confirmed `{}`",
            need.value
        );
        findings.push(
            Finding::new(&RULE, message)
                .in_job(scene.job.to_string())
                .at(scene.at.span, "done here")
                .and(need.span, "it needs this")
                .help(format!(
                    "add `[](confirm:{})` before it, once it holds",
                    need.value
                )),
        );
    }
}
