//! See [`RULE`].

use super::advice::{actions_of_clearing, clearing};
use super::check::On;
use super::context::{Blamed, all_helps, named};
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;
use indexmap::IndexSet;

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
    let fronts = part
        .behind
        .iter()
        .map(|front| (front, scene.before.part(front.value)));
    let fronts: Vec<_> = fronts
        .filter(|(_, state)| state.place != PartPlace::Off)
        .collect();
    if fronts.is_empty() {
        return;
    }
    let parts = fronts
        .iter()
        .map(|(front, _)| &scene.machine.parts[front.value]);
    let parts: Vec<&Part> = parts.collect();
    let keys: Vec<&str> = parts.iter().map(|part| part.key.as_str()).collect();
    let Some((names, are)) = named(&keys) else {
        return;
    };
    let message = format!(
        "`{}` {done} while {names} {are} still in front of it",
        part.key
    );
    let help = all_helps(parts.iter().map(|part| clearing(scene, part)));
    let help = match scene.action.verb {
        Verb::Tighten => format!("{help}, or tighten it before {names} {are} fitted"),
        _ => help,
    };
    let missing: IndexSet<String> = parts
        .iter()
        .flat_map(|part| actions_of_clearing(scene, part))
        .collect();
    let finding = scene.finding(&RULE, message, here).help(help);
    let finding = finding.propose(Place::Back, missing);
    let marked = fronts.iter().zip(keys);
    findings.push(marked.fold(finding, |finding, ((front, state), key)| {
        finding.secondary(front.span, "is in front of it").blame(
            Blamed::Part(key),
            state.since,
            "last fitted here",
        )
    }));
}
