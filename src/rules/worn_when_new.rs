//! See [`RULE`].

use super::check::On;
use super::shared::{dimensions, is_wear_limit, values_of};
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Dimension, Shop};

rule! {
    /// A new part is beyond the wear limit of one of its dimensions.
    ///
    /// The size when new may lie on the limit, but no part of its tolerance beyond it.
    ///
    /// ## At the bench
    ///
    /// Every crankshaft is measured, found worn and renewed, and so is the new one. Or the limit is of another dimension,
    /// and a worn one stays in.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plunger]
    /// name = "plunger"
    /// [part.plunger.dimension.diameter]
    /// name = "plunger diameter"
    /// new = "30.00 mm to 30.02 mm"
    /// wear-limit = "at least 30.05 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check both at their source: the digits, and whether the limit is a least or a greatest value.
    "worn-when-new", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part, dimension) in dimensions(shop) {
        let (Some(new), Some(limit)) = (&dimension.new, &dimension.wear_limit) else {
            continue;
        };
        if !is_worn_when_new(dimension) {
            continue;
        }
        let message = format!(
            "a new part is beyond the wear limit of `{}` of `{}`: it has {}, and the limit is {}",
            part.reading_key(dimension),
            machine.id,
            new.spec.value.limits().text(),
            limit.spec.value.limits().text()
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(limit.spec.span, "")
                .secondary(new.spec.span, "the size when new")
                .help("compare both with the maker's data: the digits, and whether the limit is a least or a greatest value"),
        );
    }
}

/// Whether any size that a new part can have is beyond the wear limit.
pub(super) fn is_worn_when_new(dimension: &Dimension) -> bool {
    let (Some(new), Some(limit)) = (&dimension.new, &dimension.wear_limit) else {
        return false;
    };
    let (new, limit) = (new.spec.value.limits(), limit.spec.value.limits());
    is_wear_limit(limit)
        && new.kind() == limit.kind()
        && values_of(new).any(|value| !limit.contains(&value))
}
