//! See [`RULE`].

use super::check::On;
use super::shared::{dimensions, is_wear_limit};
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// The wear limit of a dimension is a size, and no least or greatest value.
    ///
    /// A range has both, and is a limit.
    ///
    /// ## At the bench
    ///
    /// The crankpin has 29.95 mm and the sheet says 29.92 mm. Nobody can tell whether it has to be above or below that. With
    /// a tolerance, as of a new part, a part that is hardly worn is renewed.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.plunger]
    /// name = "plunger"
    /// [part.plunger.dimension.diameter]
    /// name = "plunger diameter"
    /// wear-limit = "29.92 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write what the part must keep: `"at least 29.92 mm"`, `"max 0.05 mm"`. The size of a new part is `new`.
    "wear-limit-without-bound", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part, dimension) in dimensions(shop) {
        let Some(limit) = &dimension.wear_limit else {
            continue;
        };
        let limits = limit.spec.value.limits();
        if is_wear_limit(limits) {
            continue;
        }
        let message = format!(
            "the wear limit of `{}` of `{}` is {}, which is a size and no limit",
            part.reading_key(dimension),
            machine.id,
            limits.text()
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(limit.spec.span, "")
                .help("write the least or the greatest value that is allowed, with `at least` or `at most`"),
        );
    }
}
