//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::shop::Part;

rule! {
    /// A fluid is filled in while the part that it is filled through is on, or drained while its drain plug is in.
    ///
    /// `through` on a fluid names the part that it is filled through, `drains` on a part the fluid that it lets
    /// out.
    ///
    /// ## At the bench
    ///
    /// The funnel stands on a closed cap; or the cap was put on before the tank was full.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// through = "lid"
    /// [part.lid]
    /// name = "lid"
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
    /// Take the cap or plug out before, and put it back after.
    "filled-while-shut", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Fluid(fluid) = scene.act.thing else {
        return;
    };
    let is_on = |part: &str| scene.before.part(part).place != PartPlace::Off;
    let (what, part, place) = match scene.act.verb {
        Verb::Fill => {
            let Some(through) = fluid.through.as_ref().filter(|part| is_on(&part.value)) else {
                return;
            };
            ("filled in", &through.value, through.span)
        }
        Verb::Drain => {
            let lets_out = |part: &&Part| {
                let drains = part.drains.as_ref();
                drains.is_some_and(|drains| drains.value == fluid.id)
            };
            let mut plugs = scene.machine.parts.values().filter(lets_out).peekable();
            let Some(plug) = plugs.peek().copied() else {
                return;
            };
            if !plugs.all(|plug| is_on(&plug.id)) {
                return;
            }
            ("drained", &plug.id, plug.span)
        }
        _ => return,
    };
    let message = format!("`{}` is {what} while `{part}` is on", fluid.id);
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "done here")
        .and(place, "has to be off for it")
        .help(format!("add `[](remove:{part})` before it"));
    findings.push(super::since(
        finding,
        scene.before.part(part).since,
        "put on here",
    ));
}
