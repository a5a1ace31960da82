//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;
use crate::trade::{no_load_for, synchronous_speed};

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
    /// name = "Tarn G1 generator"
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
        let droop = generator
            .droop
            .as_ref()
            .and_then(|droop| droop.value.limits().nominal());
        let wanted = match droop {
            Some(ref droop) => no_load_for(&full_load, droop, shop.droop_of).unwrap_or(full_load),
            None => full_load,
        };
        let spec = limits.spec.value.limits();
        let agrees =
            spec.contains(&wanted) || spec.nominal().is_some_and(|own| own.agrees_with(&wanted));
        if !agrees {
            let message = format!(
                "the generator of `{}` should turn at {} without load, but its limits are {}",
                machine.id,
                wanted.text(),
                spec.text()
            );
            let mut finding = Finding::new(&RULE, message)
                .primary(limits.spec.span, "")
                .secondary(generator.frequency.span, "required frequency")
                .secondary(generator.poles.span, "number of poles");
            if let (Some(droop), Some(located)) = (droop, &generator.droop) {
                let label = format!("droop: {} {}", droop.text(), shop.droop_of.text());
                finding = finding.secondary(located.span, label);
            }
            findings.push(finding);
        }
    }
}
