//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part comes off while a fastener that holds it is tight.
    ///
    /// ## At the bench
    ///
    /// It doesn't come, until something breaks.
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
    /// 2. [](remove:plate)
    /// 3. [](remove:plate-screw)
    /// 4. [](fit:plate)
    /// 5. [](fit:plate-screw)
    /// 6. [](tighten:plate-screw)
    /// 7. [](fit:lid)
    /// ```
    ///
    /// ## Mend
    ///
    /// Undo or slacken the fastener first, or correct `held-by` on the machine.
    "part-still-held", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    if scene.act.verb != Verb::Remove || scene.before.of(part).place == PartPlace::Off {
        return;
    }
    for (holder, state) in super::tight_holders(scene, part) {
        let message = format!(
            "`{}` comes off while `{}` still holds it",
            part.id, holder.value,
        );
        let finding = Finding::new(&RULE, message)
            .in_job(scene.job.to_string())
            .at(scene.at.span, "taken off here")
            .and(holder.span, "holds it")
            .help(format!(
                "add `[](remove:{})` or `[](slacken:{})` before it",
                holder.value, holder.value
            ));
        findings.push(super::since(finding, state.since, "last tightened here"));
    }
}
