//! See [`RULE`].

use super::advice::{actions_of_closing, closing};
use super::check::On;
use super::context::{Blamed, all_helps, named};
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;
use indexmap::IndexSet;

rule! {
    /// A part is fitted while a part that belongs behind it is still off.
    ///
    /// ## At the bench
    ///
    /// The part in front must come off again to fit the one behind it.
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
    /// ## Fix
    ///
    /// Fit the part behind first, or correct `behind` on the machine.
    "fitted-before-part-behind", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    if scene.before.part(part.id).place != PartPlace::Off {
        return;
    }
    let off = scene.machine.named_by[part.id].behind.iter();
    let off = off.map(|front| (front, scene.before.part(front.value)));
    let off: Vec<_> = off
        .filter(|(_, state)| state.place == PartPlace::Off)
        .collect();
    if off.is_empty() {
        return;
    }
    let parts = off
        .iter()
        .map(|(front, _)| &scene.machine.parts[front.value]);
    let parts: Vec<&Part> = parts.collect();
    let keys: Vec<&str> = parts.iter().map(|part| part.key.as_str()).collect();
    let Some((names, are)) = named(&keys) else {
        return;
    };
    let message = format!(
        "`{}` is fitted while {names}, which {are} behind it, {are} still off",
        part.key,
    );
    let help = all_helps(parts.iter().map(|part| closing(part, PartPlace::Off)));
    let missing: IndexSet<String> = parts
        .iter()
        .flat_map(|part| actions_of_closing(scene.before, scene.machine, part))
        .collect();
    let removed = off.iter().find_map(|(_, state)| state.since);
    let finding = scene
        .finding(&RULE, message, "fitted here")
        .help(help)
        .propose_undoing(removed.map(|moment| moment.span), missing);
    let marked = off.iter().zip(keys);
    findings.push(marked.fold(finding, |finding, ((front, state), key)| {
        finding.secondary(front.span, "is in front of it").blame(
            Blamed::Part(key),
            state.since,
            "removed here",
        )
    }));
}
