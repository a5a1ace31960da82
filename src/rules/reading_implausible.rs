//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::{Kind, Limits, Quantity, Rational};
use crate::shop::{Machine, Part, Reading, Shop};
use crate::trade::Measured;
use std::cmp::Ordering;

rule! {
    /// The limits of a reading are impossible for what it measures.
    ///
    /// Three kinds of reading are judged: the gap of a spark plug (a length, with the plug off: 0.3 mm to 1.6 mm), the
    /// speed of a running engine (with a tachometer that counts sparks: 400 rpm to 18 000 rpm), and the
    /// frequency of a machine's generator (within a sixth of the frequency that it must keep).
    ///
    /// ## At the bench
    ///
    /// A plug is gapped to 7 mm, or a governor is wound up to 31 000 rpm, because the sheet says so.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plug]
    /// name = "spark plug"
    /// thread = "M14x1.25"
    /// spark-plug = "gasket seat"
    /// [reading.gap]
    /// name = "plug gap"
    /// limits = "7 mm to 8 mm"
    /// without = ["plug"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the unit and the decimal point at the value's source.
    "reading-implausible", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        for reading in machine.readings.values() {
            let Some(sourced) = &reading.limits else {
                continue;
            };
            let limits = sourced.spec.value.limits();
            let Some((what, least, most)) = range_of(shop, machine, reading, limits) else {
                continue;
            };
            let message = format!(
                "the limits of `{}` of `{}` are {}, which is impossible for {what}",
                reading.key,
                machine.id,
                limits.text()
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(sourced.spec.span, "")
                    .help(format!(
                        "compare them with the maker's data: it is {} to {}",
                        least.text(),
                        most.text()
                    )),
            );
        }
    }
}

/// What an implausible reading measures, and the range that its limits have to be in.
fn range_of(
    shop: &Shop,
    machine: &Machine,
    reading: &Reading,
    limits: &Limits,
) -> Option<(&'static str, Quantity, Quantity)> {
    let is_plug = |part: &Part| part.spark_plug.is_some();
    let mut off = reading
        .without
        .iter()
        .map(|part| &machine.parts[part.value]);
    // A tachometer that counts sparks can only show the speed of the engine.
    let counts_sparks = || {
        let tool = shop.tool_of(reading);
        machine.engine.is_some() && tool.is_some_and(|tool| !tool.pulse_settings.is_empty())
    };
    let (what, (least, most)) = match limits.kind() {
        Kind::Length if off.any(is_plug) => ("the gap of a spark plug", Measured::PlugGap.range()),
        Kind::RotationalSpeed if counts_sparks() => {
            ("a running engine", Measured::EngineSpeed.range())
        }
        Kind::Frequency => {
            let generator = machine.generator.as_ref()?;
            let frequency = generator.frequency.value.limits().nominal()?;
            let share = |sixths: i64| {
                let share = Rational::new(sixths.into(), 6.into());
                Quantity::new(frequency.value() * share, frequency.unit(), 1)
            };
            ("the generator's frequency", (share(5), share(7)))
        }
        _ => return None,
    };
    let mut values = [limits.lower(), limits.nominal(), limits.upper()]
        .into_iter()
        .flatten();
    let is_outside = |value: Quantity| {
        value.compare(&least) == Some(Ordering::Less)
            || value.compare(&most) == Some(Ordering::Greater)
    };
    values.any(is_outside).then_some((what, least, most))
}
