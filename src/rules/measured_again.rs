//! See [`RULE`].

use crate::dry_run::Scene;
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A reading is measured twice, and nothing was done between.
    ///
    /// ## At the bench
    ///
    /// The second figure is the first one copied; perhaps the step that sets it is missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](measure:stroke)
    /// 2. [](inspect:pump-rod)
    /// 3. [](measure:stroke)
    /// ```
    ///
    /// ## Mend
    ///
    /// Say what is set or done between the two, or take one of them out.
    "measured-again", DryRun, Advice => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let (Verb::Measure, Thing::Reading(reading)) = (scene.act.verb, scene.act.thing) else {
        return;
    };
    let Some(first) = scene.before.account().fresh(&reading.id) else {
        return;
    };
    let message = format!(
        "`{}` is measured again with nothing done between",
        reading.id
    );
    findings.push(
        Finding::new(&RULE, message)
            .in_job(scene.job.to_string())
            .at(scene.at.span, "measured again here")
            .and(first.span, "measured here")
            .help(format!(
                "say what is done between, perhaps `[](adjust:{})`",
                reading.id
            )),
    );
}
