//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part is put on over one that is still off and belongs behind it.
    ///
    /// ## At the bench
    ///
    /// The part behind lies on the bench, and the one in front has to come off again.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plate]
    /// name = "valve plate"
    /// behind = ["lid"]
    /// held-by = ["plate-screw"]
    /// [part.lid]
    /// name = "lid"
    /// [part.plate-screw]
    /// name = "plate screw"
    /// thread = "M5"
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
    /// 2. [](remove:plate-screw)
    /// 3. [](remove:plate)
    /// 4. [](fit:lid)
    /// 5. [](fit:plate)
    /// 6. [](fit:plate-screw)
    /// 7. [](tighten:plate-screw)
    /// ```
    ///
    /// ## Mend
    ///
    /// Fit first what goes behind, or correct `behind` on the machine.
    "part-buried", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let is_put_on = matches!(scene.act.verb, Verb::Fit | Verb::Renew);
    if !is_put_on || scene.before.of(part).place != PartPlace::Off {
        return;
    }
    for (behind, state) in scene.before.parts() {
        let id = &behind.id;
        let front = behind.behind.iter().find(|front| front.value == part.id);
        let Some(front) = front.filter(|_| state.place == PartPlace::Off) else {
            continue;
        };
        let message = format!(
            "`{}` goes on while `{id}`, which is behind it, is still off",
            part.id,
        );
        let finding = Finding::new(&RULE, message)
            .in_job(scene.job.to_string())
            .at(scene.at.span, "put on here")
            .and(front.span, "says that it is in front")
            .help(format!("add `[](fit:{id})` before it"));
        findings.push(super::since(finding, state.since, "taken off here"));
    }
}
