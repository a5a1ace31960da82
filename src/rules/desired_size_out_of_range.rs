//! See [`RULE`].

use super::check::On;
use super::shared::{dimensions, is_wear_limit, values_of};
use super::worn_when_new::is_worn_when_new;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::{Limits, Quantity};
use crate::shop::Shop;
use std::cmp::Ordering;

rule! {
    /// The desired size of a dimension is not between the size when new and the wear limit.
    ///
    /// ## At the bench
    ///
    /// The valve seat is cut to the desired width, and is beyond its limit when it is measured.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plunger]
    /// name = "plunger"
    /// [part.plunger.dimension.diameter]
    /// name = "plunger diameter"
    /// new = "29.98 mm to 30.00 mm"
    /// desired = "29.09 mm"
    /// wear-limit = "at least 29.92 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check it at its source: the digits and the unit.
    "desired-size-out-of-range", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part, dimension) in dimensions(shop) {
        let (Some(desired), Some(limit)) = (&dimension.desired, &dimension.wear_limit) else {
            continue;
        };
        let (size, bounds) = (desired.spec.value.limits(), limit.spec.value.limits());
        // What these are is another finding.
        if !is_wear_limit(bounds) || size.kind() != bounds.kind() || is_worn_when_new(dimension) {
            continue;
        }
        let new = dimension.new.as_ref();
        let new = new.filter(|new| new.spec.value.limits().kind() == bounds.kind());
        let is_beyond = values_of(size).any(|value| !bounds.contains(&value));
        let is_before = |value: &Quantity| {
            new.is_some_and(|new| is_less_worn(value, new.spec.value.limits(), bounds))
        };
        let (what, where_else) = if is_beyond {
            ("beyond its wear limit", (limit, "the wear limit"))
        } else if let Some(new) = new.filter(|_| values_of(size).any(|value| is_before(&value))) {
            ("less worn than a new part", (new, "the size when new"))
        } else {
            continue;
        };
        let (other, label) = where_else;
        let message = format!(
            "the desired size of `{}` of `{}` is {}, which is {what}, {}",
            part.reading_key(dimension),
            machine.id,
            size.text(),
            other.spec.value.limits().text()
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(desired.spec.span, "")
                .secondary(other.spec.span, label)
                .help("compare both with the maker's data"),
        );
    }
}

/// Whether a value is farther from the wear limit than all sizes of a new part. Only with a limit on one side is it known in
/// which direction the part wears.
fn is_less_worn(value: &Quantity, new: &Limits, limit: &Limits) -> bool {
    let is = |bound: Option<Quantity>, order| {
        bound.is_some_and(|bound| value.compare(&bound) == Some(order))
    };
    match (limit.lower(), limit.upper()) {
        (Some(_), None) => is(new.upper(), Ordering::Greater),
        (None, Some(_)) => is(new.lower(), Ordering::Less),
        _ => false,
    }
}
