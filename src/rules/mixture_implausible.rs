//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Limits;
use crate::shop::Shop;

rule! {
    /// A supply is mixed at a ratio at which no two-stroke engine is run.
    ///
    /// Usual are 16:1 to 100:1 of petrol to oil; the charts of mixtures give no others (common practice).
    /// The rule reports ratios below 12:1 and above 128:1.
    ///
    /// ## At the bench
    ///
    /// At 500:1 the piston seizes in the first minutes.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + supplies.toml
    /// [supply.mixture]
    /// name = "two-stroke mixture"
    /// mix = "500:1"
    /// ```
    ///
    /// ## Fix
    ///
    /// Check the ratio at its source. If a maker does give it, turn the rule off in `shop.toml`.
    "mixture-implausible", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    let Ok(usual) = Limits::parse("12:1 to 128:1") else {
        return;
    };
    for supply in shop.supplies.values() {
        let Some(mix) = &supply.mix else { continue };
        let is_usual = mix
            .value
            .limits()
            .nominal()
            .is_none_or(|ratio| usual.contains(&ratio));
        if is_usual {
            continue;
        }
        let message = format!(
            "`{}` is mixed {}, at which no two-stroke engine is run",
            supply.key,
            mix.value.text()
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(mix.span, "")
                .help("write the maker's ratio, petrol first; usual are 16:1 to 100:1"),
        );
    }
}
