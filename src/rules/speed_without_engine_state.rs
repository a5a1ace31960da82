//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Kind;
use crate::shop::Shop;

rule! {
    /// The reading of a speed or a frequency does not say whether the engine runs.
    ///
    /// That is `engine = "running"`, or `"stopped"` for what is read without it. Only machines that have an engine are
    /// looked at. `may-be-live` on the reading also says that it is taken live.
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
            if !is_speed || reading.engine.is_some() || !reading.may_be_live.is_empty() {
                continue;
            }
            let message = format!(
                "reading `{}` of `{}` is a {}, and does not say whether the engine runs",
                reading.key,
                machine.id,
                kind.name()
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(limits.spec.span, "")
                    .help("add `engine = \"running\"`, or `engine = \"stopped\"`"),
            );
        }
    }
}
