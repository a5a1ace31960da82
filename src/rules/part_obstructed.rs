//! See [`RULE`].

use super::advice::{actions_of_clearing, clearing};
use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is removed, slackened, tightened or turned while a part in front of it is still fitted.
    ///
    /// ## At the bench
    ///
    /// The part can't be reached, and somebody bends the one in front out of the way.
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
    /// 1. [](slacken:plate-screw)
    /// 2. [](remove:plate)
    /// 3. [](fit:plate)
    /// 4. [](tighten:plate-screw)
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the part in front first, or correct `behind` on the machine.
    "part-obstructed", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(
    &[Verb::Remove, Verb::Slacken, Verb::Tighten, Verb::Turn],
    check,
)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let (done, here) = match scene.action.verb {
        Verb::Slacken => ("is slackened", "slackened here"),
        Verb::Tighten => ("is tightened", "tightened here"),
        Verb::Turn => ("is turned", "turned here"),
        _ => ("is removed", "removed here"),
    };
    if scene.before.part(part.id).place == PartPlace::Off {
        return;
    }
    for front in &part.behind {
        let state = scene.before.part(front.value);
        if state.place == PartPlace::Off {
            continue;
        }
        let key = &scene.machine.parts[front.value].key;
        let message = format!(
            "`{}` {done} while `{key}` is still in front of it",
            part.key
        );
        let help = clearing(scene, &scene.machine.parts[front.value]);
        let help = match scene.action.verb {
            Verb::Tighten => format!("{help}, or tighten it before `{key}` is fitted"),
            _ => help,
        };
        findings.push(
            scene
                .finding(&RULE, message, here)
                .secondary(front.span, "is in front of it")
                .help(help)
                .propose(
                    Place::Back,
                    actions_of_clearing(scene, &scene.machine.parts[front.value]),
                )
                .since(state.since, "last fitted here"),
        );
    }
}
