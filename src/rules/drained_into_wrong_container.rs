//! See [`RULE`].

use super::check::On;
use super::shared::containers;
use crate::finding::{Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Fluid;

rule! {
    /// A fluid is drained into another container than the shop has for waste of its kind, or into one of a fresh supply.
    ///
    /// `[waste]` in `shop.toml` names the containers by `kind` of the supply, and `container` of a supply that of what is
    /// fresh. A container belongs to the drain in its step. Without a container in the step, sheets print that of the shop.
    ///
    /// ## At the bench
    ///
    /// Old petrol goes into the drum of waste oil, which nobody collects any more.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.can]
    /// name = "can of fresh petrol"
    /// container = true
    /// [tool.old-can]
    /// name = "can for old petrol"
    /// container = true
    /// === + shop.toml
    /// [waste]
    /// fuel = "old-can"
    /// === + supplies.toml
    /// [supply.petrol]
    /// name = "fresh petrol"
    /// kind = "fuel"
    /// === + machines/hand-pump.toml
    /// [fluid.fuel]
    /// supply = "petrol"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [Drain the tank](drain:fuel) into the [can](use:can).
    /// 2. [](fill:fuel)
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the shop's container, or none. If the fluid goes back into the machine, waive the rule in the step, with the
    /// reason.
    "drained-into-wrong-container", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fluid(&[Verb::Drain], check)];

fn check(scene: &Scene<'_, '_>, fluid: &Fluid, findings: &mut Findings) {
    let shop = scene.shop;
    let right = shop.container_for(Verb::Drain, fluid);
    let is_right = |id| right.is_some_and(|right| right.id == id);
    if containers(scene.step).any(|(container, _)| is_right(container.id)) {
        return;
    }
    // A step that fills as well may name the container for that.
    let fills = scene
        .step
        .actions
        .iter()
        .any(|action| action.verb == Verb::Fill && matches!(action.thing, Thing::Fluid(_)));
    let fresh = |id| {
        let mut supplies = shop.supplies.values();
        supplies.find(|supply| supply.container.as_ref().is_some_and(|own| own.value == id))
    };
    let wrong = containers(scene.step)
        .filter(|_| !fills)
        .find(|(container, _)| right.is_some() || fresh(container.id).is_some());
    let Some((container, span)) = wrong else {
        return;
    };
    let message = match (right, fresh(container.id)) {
        (Some(right), _) => format!(
            "`{}` is drained into `{}`, and its waste goes into `{}`",
            fluid.key, container.key, right.key
        ),
        (None, fresh) => format!(
            "`{}` is drained into `{}`, the container of `{}`",
            fluid.key,
            container.key,
            fresh.map_or("", |supply| supply.key.as_str())
        ),
    };
    let help = match right {
        Some(right) => format!("write `use:{}`", right.key),
        None => "use a container for waste".to_owned(),
    };
    let finding = scene.finding(&RULE, message, "drained here");
    findings.push(finding.secondary(span, "into this").help(help));
}
