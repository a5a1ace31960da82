//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// A fluid's supply is of another kind than the fluid takes.
    ///
    /// The rule compares `takes` of the fluid with `kind` of the supply. A supply with a `mix` is a fuel. Without one of the
    /// two, it finds nothing.
    ///
    /// ## At the bench
    ///
    /// The sheet says to pour petrol into the oil filler. The engine starts, and its bearings run dry.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + supplies.toml
    /// [supply.petrol]
    /// name = "fresh petrol"
    /// kind = "fuel"
    /// === + machines/hand-pump.toml
    /// [fluid.gear-oil]
    /// supply = "petrol"
    /// takes = "oil"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the right supply in `supply`. If the fluid can be of both kinds, list them: `takes = ["oil", "grease"]`.
    "wrong-kind-of-supply", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        for fluid in machine.fluids.values() {
            let Some(named) = &fluid.supply else { continue };
            let supply = &shop.supplies[named.value];
            let (Some(kind), Some(first)) = (supply.kind, fluid.takes.first()) else {
                continue;
            };
            if fluid.takes.iter().any(|taken| taken.value == kind) {
                continue;
            }
            let taken: Vec<&str> = fluid.takes.iter().map(|taken| taken.value.word()).collect();
            let message = format!(
                "`{}` of `{}` takes {}, and its supply `{}` is {}",
                fluid.key,
                machine.id,
                taken.join(" or "),
                supply.key,
                kind.word()
            );
            let fitting = shop.supplies.values().filter(|other| {
                let mut taken = fluid.takes.iter();
                taken.any(|taken| other.kind == Some(taken.value))
            });
            let fitting: Vec<String> = fitting.map(|other| format!("`{}`", other.key)).collect();
            let help = if fitting.is_empty() {
                "name a supply of the right kind, or correct `kind` or `takes`".to_owned()
            } else {
                let fitting = fitting.join(", ");
                format!("of the right kind are {fitting}; or correct `kind` or `takes`")
            };
            findings.push(
                Finding::new(&RULE, message)
                    .primary(named.span, "")
                    .secondary(first.span, "what it takes")
                    .help(help),
            );
        }
    }
}
