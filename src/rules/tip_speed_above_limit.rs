//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Quantity;
use crate::shop::{Machine, Part, Shop};
use crate::trade::{driven_speed, tip_speed};
use std::cmp::Ordering;

rule! {
    /// A blade's tip speed exceeds its limit at the top of the engine's speed limits.
    ///
    /// ## At the bench
    ///
    /// A blade that is safe at the bottom of the speed limits flies apart at the top.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/mower.toml
    /// name = "Tarn Mallow mower"
    /// basis = "invented"
    /// [part.blade]
    /// name = "blade"
    /// diameter = "500 mm"
    /// turns-with = "speed"
    /// tip-speed = "at most 80 m/s"
    /// [reading.speed]
    /// name = "speed"
    /// limits = "3000 rpm ± 100 rpm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the speed, the diameter and the limit; one of them belongs to another machine.
    "tip-speed-above-limit", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let Some(ceiling) = &part.tip_speed else {
            continue;
        };
        let limits = ceiling.spec.value.limits();
        let most = limits.upper().or_else(|| limits.nominal());
        let (Some(most), Some(tip)) = (most, fastest(machine, part)) else {
            continue;
        };
        if tip.compare(&most).is_some_and(Ordering::is_gt) {
            let message = format!(
                "the tip speed of `{}` of `{}` reaches {}, above its limit of {}",
                part.key,
                machine.id,
                tip.text(),
                most.text()
            );
            let mut finding = Finding::new(&RULE, message).primary(ceiling.spec.span, "its limit");
            if let Some(turns_with) = &part.turns_with {
                finding = finding.secondary(turns_with.span, "at the top of this speed");
            }
            findings.push(finding.help(
                "compare the speed, the diameter and the limit with the maker's data; the blade must not turn faster",
            ));
        }
    }
}

/// The speed of the tip at the top of the engine's limits; none where something for it is not given.
fn fastest(machine: &Machine, part: &Part) -> Option<Quantity> {
    let reading = &machine.readings[part.turns_with.as_ref()?.value];
    let limits = reading.limits.as_ref()?.spec.value.limits();
    let mut speed = limits.upper().or_else(|| limits.nominal())?;
    if let Some(belt) = &part.through {
        let belt = &machine.parts[belt.value];
        let pulley = |spec: &Option<crate::finding::Located<crate::quantity::Spec>>| {
            spec.as_ref()?.value.limits().nominal()
        };
        speed = driven_speed(&speed, &pulley(&belt.driver)?, &pulley(&belt.driven)?).ok()?;
    }
    let diameter = part.diameter.as_ref()?.value.limits().nominal()?;
    tip_speed(&diameter, &speed).ok()
}
