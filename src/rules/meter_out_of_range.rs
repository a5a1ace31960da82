//! See [`RULE`].

use super::check::On;
use super::shared::values_of;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::{Kind, Limits, Quantity};
use crate::shop::Shop;
use std::cmp::Ordering;

rule! {
    /// A reading's limits are outside the range of its tool.
    ///
    /// Limits of another kind are not judged, because a tool may measure several: a multimeter has a range in volts
    /// and measures ohms as well. But limits in hertz are out of a range in rpm, and the other way round. A dimension that
    /// may be at most so much, below what the tool shows, can be the difference of two readings.
    ///
    /// ## At the bench
    ///
    /// No blade of the feeler gauges is that thick, so the mechanic guesses.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.feeler-gauges]
    /// name = "feeler gauges"
    /// range = "0.05 mm to 1 mm"
    /// === + machines/hand-pump.toml
    /// [reading.lift]
    /// name = "valve lift"
    /// limits = "1.5 mm to 2 mm"
    /// tool = "feeler-gauges"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the limits at their source: the unit and the decimal point. Otherwise name a tool that can measure them.
    "meter-out-of-range", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        for reading in machine.readings.values() {
            let Some((tool, range)) = shop
                .tool_of(reading)
                .and_then(|tool| Some((tool, tool.range.as_ref()?)))
            else {
                continue;
            };
            let Some(limits) = &reading.limits else {
                continue;
            };
            let (typed, readable) = (limits.spec.value.limits(), range.value.limits());
            let is_shown = values_of(typed).all(|value| can_show(readable, &value));
            if is_shown || (reading.dimension.is_some() && may_be_difference(readable, typed)) {
                continue;
            }
            let message = format!(
                "the limits of `{}` of `{}` are {}, but `{}` measures {}",
                reading.key,
                machine.id,
                typed.text(),
                tool.key,
                readable.text()
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(limits.spec.span, "")
                    .secondary(range.span, "the range of the tool")
                    .help("name in `tool` a tool that can show these limits, or correct the value that is wrong"),
            );
        }
    }
}

/// Whether limits may be of the difference of two values that a tool shows: how far a bore is out of round is found by
/// measuring it twice.
fn may_be_difference(range: &Limits, limits: &Limits) -> bool {
    let (Some(least), Some(most)) = (range.lower(), limits.upper()) else {
        return false;
    };
    limits.lower().is_none() && most.compare(&least) == Some(Ordering::Less)
}

/// Whether a tool of this range can show a value.
fn can_show(range: &Limits, value: &Quantity) -> bool {
    if matches!(
        (range.kind(), value.kind()),
        (Kind::RotationalSpeed, Kind::Frequency) | (Kind::Frequency, Kind::RotationalSpeed)
    ) {
        return false;
    }
    let is = |bound: Option<Quantity>, order| {
        bound.is_some_and(|bound| value.compare(&bound) == Some(order))
    };
    !is(range.lower(), Ordering::Less) && !is(range.upper(), Ordering::Greater)
}
