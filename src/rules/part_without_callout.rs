//! See [`RULE`].

use super::check::On;
use super::context::{TextScene, legend_of};
use crate::finding::{Finding, Findings, nearest, rule};
use crate::shop::{Machine, Part};

rule! {
    /// A figure shows a part taken apart, and a fastener or a seal of that part has no number in it.
    ///
    /// The parts are those in `assembly`. Their fasteners are those in `held-by`, their seals the parts that name them in
    /// `seals`.
    ///
    /// ## At the bench
    ///
    /// The gasket that is not in the drawing is the one that stays in the box.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/pump.svg
    /// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30"><path id="cover" d="M5 5h30v20h-30z"/></svg>
    /// === figures/pump.toml
    /// title = "Hand pump"
    /// machines = ["hand-pump"]
    /// assembly = ["cover"]
    /// [callout.cover]
    /// number = 1
    /// place = "cover"
    /// ```
    ///
    /// ## Fix
    ///
    /// Draw the part and give it a number, or leave `assembly` out.
    "part-without-callout", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(legend) = legend_of(scene) else {
        return;
    };
    let machines = || {
        legend
            .machines
            .iter()
            .map(|id| &scene.shop.machines[id.value])
    };
    for name in &legend.assembly {
        let known = || machines().find(|machine| machine.parts.get(&name.value).is_some());
        let Some(first) = known() else {
            if let Some(machine) = machines().next().filter(|machine| machine.is_complete) {
                let near = nearest(&name.value, machine.parts.keys());
                let message = format!(
                    "no machine of figure `{}` has a part `{}`",
                    legend.key, name.value
                );
                findings.push(
                    Finding::new(&super::callout_not_on_machine::RULE, message)
                        .primary(name.span, "")
                        .suggest(near, "write the id of a part")
                        .corrected(&name.value, near),
                );
            }
            continue;
        };
        let mut missing: Vec<(&Machine, &Part)> = Vec::new();
        for machine in machines() {
            let Some(part) = machine.parts.get(&name.value) else {
                continue;
            };
            for part in joined_to(machine, part) {
                let mut callouts = legend.callouts_for(machine.index);
                let is_numbered = callouts.any(|callout| callout.key.value == part.key);
                if !is_numbered && !missing.iter().any(|(_, other)| other.key == part.key) {
                    missing.push((machine, part));
                }
            }
        }
        for (machine, part) in missing {
            let message = format!(
                "figure `{}` shows `{}` taken apart, and `{}` has no number in it",
                legend.key, name.value, part.key
            );
            let help = if machine.index == first.index {
                format!("add `[callout.{}]` with its number and its place", part.key)
            } else {
                format!(
                    "add `[callout.{}]`; `{}` has the part",
                    part.key, machine.id
                )
            };
            findings.push(
                Finding::new(&RULE, message)
                    .primary(name.span, "")
                    .help(help),
            );
        }
    }
}

/// The fasteners and the seals of a part, in the order of the machine's file.
fn joined_to<'m>(machine: &'m Machine, part: &'m Part) -> impl Iterator<Item = &'m Part> {
    machine.parts.values().filter(move |other| {
        let holds = part.held_by.iter().any(|id| id.value == other.id);
        let seals = other.seals.iter().any(|id| id.value == part.id);
        holds || seals
    })
}
