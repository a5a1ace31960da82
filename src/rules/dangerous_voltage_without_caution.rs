//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, Span, rule};
use crate::quantity::{Kind, Limits, Quantity, Rational, Unit};
use crate::shop::{Machine, Reading, Shop};
use std::cmp::Ordering;

rule! {
    /// A voltage that can kill is measured, and the reading has no cautions.
    ///
    /// That is a voltage above 50 V, the highest that may be touched for long with alternating current (IEC 60364-4-41,
    /// from memory), and the frequency of a generator, which is measured at the same sockets. The cautions of the energy
    /// are printed where it is made safe, and nothing is made safe for such a reading.
    ///
    /// ## At the bench
    ///
    /// Somebody holds two probes in a live socket, and the sheet does not say how.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.supply]
    /// name = "voltage at the socket"
    /// limits = "230 V ± 20 V"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the caution against electric shock in the `cautions` of the reading.
    "dangerous-voltage-without-caution", Trade, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// In volts.
const HIGHEST_TO_TOUCH: i64 = 50;

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values().filter(|machine| machine.is_complete) {
        for reading in machine.readings.values() {
            let Some(limits) = dangerous(machine, reading) else {
                continue;
            };
            let message = format!(
                "reading `{}` of `{}` is taken at a dangerous voltage, and has no cautions",
                reading.key, machine.id
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(limits, "")
                    .help("name the caution against electric shock in its `cautions`"),
            );
        }
    }
}

/// The span of a reading's limits, if it is taken at a dangerous voltage and has no cautions.
fn dangerous(machine: &Machine, reading: &Reading) -> Option<Span> {
    let sourced = reading.limits.as_ref()?;
    let limits = sourced.spec.value.limits();
    let is_dangerous = match limits.kind() {
        Kind::Voltage => is_above_touch(limits),
        Kind::Frequency => machine.generator.is_some(),
        _ => false,
    };
    (is_dangerous && reading.cautions.is_empty()).then_some(sourced.spec.span)
}

fn is_above_touch(limits: &Limits) -> bool {
    let highest = limits
        .upper()
        .or_else(|| limits.lower())
        .or_else(|| limits.nominal());
    let touch = Quantity::new(
        Rational::from_integer(HIGHEST_TO_TOUCH.into()),
        Unit::VOLT,
        0,
    );
    highest.is_some_and(|highest| highest.compare(&touch) == Some(Ordering::Greater))
}
