//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;
use crate::trade::indicated_speed;

rule! {
    /// A tachometer that counts sparks has no setting for a machine's engine.
    ///
    /// ## At the bench
    ///
    /// On a setting of one spark in two turns, it shows twice the speed of an engine that sparks every
    /// turn. Somebody then turns the engine down to half its speed.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.tachometer]
    /// name = "tachometer"
    /// pulse-settings = [0.5]
    /// === machines/engine-pump.toml
    /// name = "Tarn Reed engine pump"
    /// basis = "invented"
    /// engine = { ignition-pulses-per-turn = 1 }
    /// [part.cover]
    /// name = "cover"
    /// [reading.speed]
    /// name = "speed"
    /// limits = "3000 rpm ± 100 rpm"
    /// engine = "running"
    /// tool = "tachometer"
    /// ```
    ///
    /// ## Fix
    ///
    /// Use a tachometer that has the setting. The finding says what this one would show.
    "tachometer-misreads", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        let pulses = machine
            .engine
            .as_ref()
            .and_then(|engine| engine.pulses.as_ref());
        let Some(pulses) = pulses else { continue };
        for reading in machine.readings.values() {
            let tool = shop.tool_of(reading);
            let Some(tool) = tool else { continue };
            let has_setting = tool
                .pulse_settings
                .iter()
                .any(|setting| setting.value == pulses.value);
            let Some(wrong) = tool.pulse_settings.first().filter(|_| !has_setting) else {
                continue;
            };
            let message = format!(
                "`{}` has no setting for the sparks per turn of `{}`",
                tool.key, machine.id
            );
            let help = format!(
                "name in `tool` a tachometer with a setting of {}",
                pulses.value
            );
            let mut finding = Finding::new(&RULE, message)
                .help(help.clone())
                .primary(pulses.span, "sparks per turn")
                .secondary(wrong.span, "its first setting");
            let aim = reading
                .limits
                .as_ref()
                .and_then(|limits| limits.spec.value.limits().nominal());
            if let Some(aim) = aim
                && let Ok(shown) = indicated_speed(&aim, &pulses.value, &wrong.value)
            {
                finding = finding.help(format!(
                    "{help}; at {} this one would show {}",
                    aim.text(),
                    shown.text()
                ));
            }
            findings.push(finding);
        }
    }
}
