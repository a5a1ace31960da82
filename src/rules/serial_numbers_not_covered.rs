//! See [`RULE`].

use super::check::On;
use super::shared::variants;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// Between the serial numbers of two variants of a machine are some that no variant is for.
    ///
    /// The rule looks at machines that are `like` each other and have the same options in `fitted`.
    ///
    /// ## At the bench
    ///
    /// A machine from the gap comes in, and no sheet is for it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/early-pump.toml
    /// name = "Tarn Dash hand pump, early"
    /// to = "HD-2399"
    /// === machines/late-pump.toml
    /// name = "Tarn Dash hand pump, late"
    /// like = "early-pump"
    /// from = "HD-2450"
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct `from` or `to`, or add a variant for the numbers between them.
    "serial-numbers-not-covered", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for mut group in variants(shop) {
        group.sort_by_key(|machine| machine.serials.order());
        for (index, next) in group.iter().enumerate() {
            // Of those before it, the one that reaches furthest.
            let before = group[..index].iter();
            let before = before.filter(|before| before.serials.is_comparable(&next.serials));
            let Some(before) = before.max_by_key(|before| before.serials.greatest()) else {
                continue;
            };
            let Some((first, last)) = before.serials.gap_before(&next.serials) else {
                continue;
            };
            let numbers = if first == last {
                format!("serial number {first}")
            } else {
                format!("serial numbers {first} to {last}")
            };
            let message = format!(
                "no variant is for {numbers}, between `{}` and `{}`",
                before.id, next.id
            );
            let finding = Finding::new(&RULE, message)
                .primary(next.serials_span(), "")
                .secondary(before.serials_span(), "the variant before it");
            findings.push(finding.help(format!(
                "write `from = \"{first}\"` here if this variant begins there, or add a variant"
            )));
        }
    }
}
