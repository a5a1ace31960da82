//! See [`RULE`].

use super::check::On;
use super::shared::containers;
use crate::finding::{Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Fluid;

rule! {
    /// A fluid is filled from a container for waste, or from the container of another supply.
    ///
    /// `[waste]` in `shop.toml` names the containers for waste, and `container` of a supply that of what is fresh. A
    /// container belongs to the fill in its step.
    ///
    /// ## At the bench
    ///
    /// Somebody pours the petrol of last autumn back into the tank, with the water that is in it.
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
    /// 1. [Drain the tank](drain:fuel).
    /// 2. [Fill the tank](fill:fuel) from the [can](use:old-can).
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the container of the fluid's supply. If the same supply is in both containers, give it no `container`.
    "filled-from-wrong-container", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fluid(&[Verb::Fill], check)];

fn check(scene: &Scene<'_, '_>, fluid: &Fluid, findings: &mut Findings) {
    let shop = scene.shop;
    // A step that drains as well, or fills two fluids, may name the container for that.
    let mut flows = scene.step.actions.iter();
    let is_other = flows.any(|action| {
        let is_flow = matches!(action.verb, Verb::Drain | Verb::Fill);
        is_flow && matches!(action.thing, Thing::Fluid(other) if other.id != fluid.id || action.verb == Verb::Drain)
    });
    if is_other {
        return;
    }
    let right = shop.container_for(Verb::Fill, fluid);
    for (container, span) in containers(scene.step) {
        if right.is_some_and(|right| right.id == container.id) {
            continue;
        }
        let mut supplies = shop.supplies.values();
        let other = supplies.find(|supply| {
            let own = supply.container.as_ref();
            own.is_some_and(|own| own.value == container.id)
        });
        let holds = match (shop.waste_in(container.id), other) {
            (Some(kind), _) => format!("holds waste {}", kind.word()),
            (None, Some(other)) => format!("holds `{}`", other.key),
            (None, None) => continue,
        };
        let message = format!(
            "`{}` is filled from `{}`, which {holds}",
            fluid.key, container.key
        );
        let help = match right {
            Some(right) => format!("write `use:{}`", right.key),
            None => "use the container of its supply".to_owned(),
        };
        let finding = scene.finding(&RULE, message, "filled here");
        findings.push(finding.secondary(span, "from this").help(help));
    }
}
