//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Kind;
use crate::shop::{EnergyKind, Shop};

rule! {
    /// The reading of a speed or a frequency, or one with the ignition live, does not say whether the engine runs.
    ///
    /// That is `engine = "running"`, or `"stopped"` for what is read without it. Only machines that have an engine are
    /// looked at. A speed with other energies in `may-be-live` may be that of another part.
    ///
    /// ## At the bench
    ///
    /// Without it, no check misses the step that starts the engine, and the reading counts as work that needs the
    /// ignition off.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/foot-pump.toml
    /// name = "foot pump"
    /// basis = "measured on our own pump"
    /// engine = { kind = "2-stroke" }
    /// [reading.idle]
    /// name = "idle speed"
    /// limits = "1800 rpm ± 100 rpm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Add `engine = "running"`.
    "speed-without-engine-state", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    let machines = shop.machines.values();
    for machine in machines.filter(|machine| machine.is_complete && machine.has_engine()) {
        for reading in machine.readings.values() {
            let Some(limits) = &reading.limits else {
                continue;
            };
            let kind = limits.spec.value.limits().kind();
            let is_speed = matches!(kind, Kind::RotationalSpeed | Kind::Frequency);
            let mut live = reading.may_be_live.iter();
            let is_ignition_live =
                live.any(|id| machine.energies[id.value].kind == Some(EnergyKind::Ignition));
            let (key, id) = (&reading.key, &machine.id);
            let message = if reading.engine.is_some() {
                continue;
            } else if is_ignition_live {
                format!(
                    "reading `{key}` of `{id}` is taken with the ignition live, and does not say whether the engine runs"
                )
            } else if is_speed && reading.may_be_live.is_empty() {
                let kind = kind.name();
                format!(
                    "reading `{key}` of `{id}` is a {kind}, and does not say whether the engine runs"
                )
            } else {
                continue;
            };
            findings.push(
                Finding::new(&RULE, message)
                    .primary(limits.spec.span, "")
                    .help("add `engine = \"running\"`, or `engine = \"stopped\"`"),
            );
        }
    }
}
