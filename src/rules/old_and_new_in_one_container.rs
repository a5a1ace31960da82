//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use super::shared::containers;
use crate::finding::{Findings, Span, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::shop::{FluidId, ToolId};
use std::collections::BTreeMap;

rule! {
    /// A fluid is drained into a container, and the machine is filled again from the same container.
    ///
    /// A container is a tool with `container = true`. It belongs to the drain or the fill in its step.
    ///
    /// ## At the bench
    ///
    /// Stale petrol goes into the can of fresh petrol, and from there back into the tank.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.can]
    /// name = "can"
    /// container = true
    /// === + machines/hand-pump.toml
    /// [fluid.water]
    /// supply = "grease"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [Drain the water](drain:water) into the [can](use:can).
    /// 2. [Fill the pump](fill:water) from the [can](use:can).
    /// ```
    ///
    /// ## Fix
    ///
    /// Use another container for what is drained, and mark it. If the fluid goes back on purpose, waive the rule in the
    /// step that fills it, with the reason.
    "old-and-new-in-one-container", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    if !ending.end.account().is_refilled() {
        return;
    }
    let mut drained: BTreeMap<(FluidId, ToolId), Span> = BTreeMap::new();
    for step in ending.job.earlier_steps().chain(ending.job.steps()) {
        for action in &step.actions {
            let Thing::Fluid(fluid) = action.thing else {
                continue;
            };
            for (container, span) in containers(step) {
                let pair = (fluid.id, container.id);
                match action.verb {
                    Verb::Drain => {
                        drained.insert(pair, span);
                    }
                    Verb::Fill => {
                        let Some(drained_at) = drained.remove(&pair) else {
                            continue;
                        };
                        // What is filled from a container for waste is reported where it is filled.
                        if ending.job.shop.waste_in(container.id).is_some() {
                            continue;
                        }
                        let message = format!(
                            "`{}` is filled from `{}`, which it was drained into",
                            fluid.key, container.key
                        );
                        findings.push(
                            ending
                                .finding(&RULE, message, None, "")
                                .primary(span, "filled from it here")
                                .secondary(drained_at, "drained into it here")
                                .help("use another container for what is drained"),
                        );
                    }
                    _ => {}
                }
            }
        }
    }
}
