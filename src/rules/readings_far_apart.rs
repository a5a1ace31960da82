//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::{Limits, Quantity, Rational};
use crate::shop::{Machine, PartId, Reading, Shop};
use std::collections::BTreeSet;

rule! {
    /// The limits of two readings of the same adjuster differ by a factor of eight or more.
    ///
    /// Such readings are of the same kind, taken with the same tool, and locked by the same fasteners.
    ///
    /// ## At the bench
    ///
    /// The exhaust valve is set to 2 mm and the inlet valve to 0.15 mm, because a decimal point was left out.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.locknut]
    /// name = "locknut"
    /// [reading.inlet]
    /// name = "inlet clearance"
    /// limits = "0.12 mm to 0.18 mm"
    /// locked-by = ["locknut"]
    /// [reading.exhaust]
    /// name = "exhaust clearance"
    /// limits = "1.7 mm to 2.3 mm"
    /// locked-by = ["locknut"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Check both at their source: the unit and the decimal point.
    "readings-far-apart", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// A misplaced decimal point makes a factor of ten. The readings themselves differ by less than a
/// factor of two or so, but a factor of five may be right where a cable's play and a belt's slack share a
/// locknut.
const FAR: i64 = 8;

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        let readings: Vec<&Reading> = machine.readings.values().collect();
        for (index, reading) in readings.iter().enumerate() {
            let earlier = readings[..index].iter();
            let far = earlier
                .filter(|other| is_same_adjuster(reading, other))
                .find_map(|other| report(machine, reading, other));
            if let Some(finding) = far {
                findings.push(finding);
            }
        }
    }
}

fn is_same_adjuster(reading: &Reading, other: &Reading) -> bool {
    let locks = |reading: &Reading| -> BTreeSet<PartId> {
        reading.locked_by.iter().map(|part| part.value).collect()
    };
    let tool = |reading: &Reading| reading.tool.as_ref().map(|tool| tool.value);
    !reading.locked_by.is_empty() && locks(reading) == locks(other) && tool(reading) == tool(other)
}

fn report(machine: &Machine, reading: &Reading, other: &Reading) -> Option<Finding> {
    let (own, their) = (reading.limits.as_ref()?, other.limits.as_ref()?);
    let (own_limits, their_limits) = (own.spec.value.limits(), their.spec.value.limits());
    let (own_middle, their_middle) = (middle(own_limits)?, middle(their_limits)?);
    let their_value = their_middle.in_unit(own_middle.unit())?;
    let (value, other_value) = (own_middle.value(), their_value.value());
    let zero = Rational::from_integer(0.into());
    let times = Rational::from_integer(FAR.into());
    // A value of zero is as far from any other as from none.
    if *value <= zero || *other_value <= zero {
        return None;
    }
    if *value < &times * other_value && *other_value < times * value {
        return None;
    }
    let message = format!(
        "the limits of `{}` of `{}` are {}, far from those of `{}`, {}",
        reading.key,
        machine.id,
        own_limits.text(),
        other.key,
        their_limits.text()
    );
    Some(
        Finding::new(&RULE, message)
            .primary(own.spec.span, "")
            .secondary(their.spec.span, "of the same adjuster")
            .help(
                "compare both with the maker's data: one may have the wrong unit or decimal point",
            ),
    )
}

/// The nominal, otherwise the middle, otherwise the only bound.
fn middle(limits: &Limits) -> Option<Quantity> {
    if let Some(nominal) = limits.nominal() {
        return Some(nominal);
    }
    match (limits.lower(), limits.upper()) {
        (Some(lower), Some(upper)) => {
            let sum = lower.value() + upper.value();
            let half = sum / Rational::from_integer(2.into());
            Some(Quantity::new(half, lower.unit(), 0))
        }
        (lower, upper) => lower.or(upper),
    }
}
