//! See [`RULE`].

use super::check::On;
use super::shared::dimensions;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// The values of a dimension are of different kinds.
    ///
    /// ## At the bench
    ///
    /// The sheet says that the spring has 42 mm when new, and that it must keep 12 N. What is measured can be compared with
    /// only one of them.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plunger]
    /// name = "plunger"
    /// [part.plunger.dimension.diameter]
    /// name = "plunger diameter"
    /// new = "30 N·m"
    /// wear-limit = "at least 29.92 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the unit. What is measured in another way is a dimension of its own, such as the force of a spring beside
    /// its length.
    "dimension-kinds-differ", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part, dimension) in dimensions(shop) {
        let Some(limit) = &dimension.wear_limit else {
            continue;
        };
        let wanted = limit.spec.value.limits().kind();
        let others = [("new", &dimension.new), ("desired", &dimension.desired)];
        for (field, value) in others {
            let Some(value) = value else {
                continue;
            };
            let kind = value.spec.value.limits().kind();
            if kind == wanted {
                continue;
            }
            let message = format!(
                "`{field}` of `{}` of `{}` is a {}, and its wear limit a {}",
                part.reading_key(dimension),
                machine.id,
                kind.name(),
                wanted.name()
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(value.spec.span, "")
                    .secondary(limit.spec.span, "the wear limit")
                    .help("correct the unit of one of them"),
            );
        }
    }
}
