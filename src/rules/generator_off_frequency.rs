//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::{Limits, Quantity};
use crate::shop::{Generator, Shop};
use crate::trade::{DroopOf, no_load_for, synchronous_speed};
use std::cmp::Ordering;

rule! {
    /// A generator's no-load speed does not match its frequency, poles and droop.
    ///
    /// ## At the bench
    ///
    /// A governor set to this speed gives a frequency that upsets clocks and burns out motors.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/generator.toml
    /// name = "Tarn Comfrey generator"
    /// basis = "invented"
    /// generator = { poles = 2, frequency = "50 Hz ± 1 Hz", speed = "speed" }
    /// [part.cover]
    /// name = "cover"
    /// [reading.speed]
    /// name = "speed without load"
    /// limits = "3600 rpm ± 50 rpm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Two poles give 50 Hz at 3000 rpm; the no-load speed is higher by the droop. The droop is a
    /// percentage of the full-load speed (ISO 8528-5), unless `shop.toml` says `droop-of = "no-load"`:
    /// 5 % of the full-load speed is set to 3150 rpm, 5 % of the no-load speed to 3158 rpm. Correct the
    /// value that is wrong.
    "generator-off-frequency", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        let Some(generator) = &machine.generator else {
            continue;
        };
        let reading = generator
            .speed
            .as_ref()
            .map(|speed| &machine.readings[speed.value]);
        let limits = reading.and_then(|reading| reading.limits.as_ref());
        let nominal = generator.frequency.value.limits().nominal();
        let (Some(limits), Some(frequency)) = (limits, nominal) else {
            continue;
        };
        let Ok(full_load) = synchronous_speed(&frequency, generator.poles.value) else {
            continue;
        };
        let Some((slowest, fastest)) = no_load_speeds(generator, &full_load, shop.droop_of) else {
            continue;
        };
        let spec = limits.spec.value.limits();
        if allows_any(spec, &slowest, &fastest) {
            continue;
        }
        let wanted = if slowest == fastest {
            slowest.text()
        } else {
            format!("{} to {}", slowest.text(), fastest.text())
        };
        let message = format!(
            "the generator of `{}` should turn at {wanted} without load, but its limits are {}",
            machine.id,
            spec.text()
        );
        let mut finding = Finding::new(&RULE, message)
            .primary(limits.spec.span, "")
            .secondary(generator.frequency.span, "required frequency")
            .secondary(generator.poles.span, "number of poles");
        if let Some(droop) = &generator.droop {
            let label = format!("droop: {} {}", droop.value.text(), shop.droop_of.text());
            finding = finding.secondary(droop.span, label);
        }
        findings.push(finding.help(
            "correct what the maker's data contradict: the limits of the speed, the poles, the frequency or the droop",
        ));
    }
}

/// The no-load speeds for the least and the greatest droop of a generator. `None` if they can't be
/// calculated. Without a lower limit, as in "at most 5 %", the least droop is none.
fn no_load_speeds(
    generator: &Generator,
    full_load: &Quantity,
    of: DroopOf,
) -> Option<(Quantity, Quantity)> {
    let Some(droop) = &generator.droop else {
        return Some((full_load.clone(), full_load.clone()));
    };
    let limits = droop.value.limits();
    let speed = |droop: &Quantity| no_load_for(full_load, droop, of).ok();
    if let Some(nominal) = limits.nominal() {
        let speed = speed(&nominal)?;
        return Some((speed.clone(), speed));
    }
    let slowest = match limits.lower() {
        Some(lower) => speed(&lower)?,
        None => full_load.clone(),
    };
    let fastest = speed(&limits.upper().or_else(|| limits.lower())?)?;
    Some((slowest, fastest))
}

/// Whether limits allow a speed between two others. A nominal without limits allows what it rounds to.
fn allows_any(limits: &Limits, slowest: &Quantity, fastest: &Quantity) -> bool {
    if let Some(nominal) = limits.nominal()
        && (nominal.agrees_with(slowest) || nominal.agrees_with(fastest))
    {
        return true;
    }
    let (mut lower, mut upper) = (limits.lower(), limits.upper());
    if lower.is_none() && upper.is_none() {
        (lower, upper) = (limits.nominal(), limits.nominal());
    }
    let starts_above = lower.is_some_and(|lower| lower.compare(fastest) == Some(Ordering::Greater));
    let ends_below = upper.is_some_and(|upper| upper.compare(slowest) == Some(Ordering::Less));
    !starts_above && !ends_below
}
