//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Fluid, Machine, PartId, Shop, SupplyKind};
use std::collections::BTreeMap;

rule! {
    /// Two fluids of a machine are filled through the same part, with supplies of different kinds.
    ///
    /// The rule compares `kind` of the supplies of fluids with the same `through`. A supply with a `mix` is a fuel.
    ///
    /// ## At the bench
    ///
    /// The sheet says to take the fuel cap off and pour oil in.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + supplies.toml
    /// [supply.petrol]
    /// name = "fresh petrol"
    /// kind = "fuel"
    /// [supply.gear-oil]
    /// name = "gear oil"
    /// kind = "oil"
    /// === + machines/hand-pump.toml
    /// [part.cap]
    /// name = "cap"
    /// [fluid.fuel]
    /// supply = "petrol"
    /// through = "cap"
    /// [fluid.oil]
    /// supply = "gear-oil"
    /// through = "cap"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name in `through` the part that each of them is filled through.
    "two-kinds-through-one-part", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        check_machine(shop, machine, findings);
    }
}

fn check_machine(shop: &Shop, machine: &Machine, findings: &mut Findings) {
    let mut first_of: BTreeMap<PartId, (&Fluid, SupplyKind)> = BTreeMap::new();
    for fluid in machine.fluids.values() {
        let kind = shop.supply_of(fluid).and_then(|supply| supply.kind);
        let (Some(through), Some(kind)) = (&fluid.through, kind) else {
            continue;
        };
        let (first, first_kind) = *first_of.entry(through.value).or_insert((fluid, kind));
        if first_kind == kind {
            continue;
        }
        let message = format!(
            "`{}` and `{}` of `{}` are both filled through `{}`, one with {}, the other with {}",
            first.key,
            fluid.key,
            machine.id,
            machine.parts[through.value].key,
            first_kind.word(),
            kind.word()
        );
        let mut finding = Finding::new(&RULE, message).primary(through.span, "");
        if let Some(first_through) = &first.through {
            finding = finding.secondary(first_through.span, "the other");
        }
        findings
            .push(finding.help("name in `through` the part that each of them is filled through"));
    }
}
