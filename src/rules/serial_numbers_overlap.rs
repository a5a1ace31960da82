//! See [`RULE`].

use super::check::On;
use super::shared::variants;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// Two variants of a machine with the same options are for the same serial numbers.
    ///
    /// The rule looks at machines that are `like` each other, if one of them has `from` or `to`. A machine without both is
    /// for all serial numbers. Variants with other options in `fitted` may have the same numbers.
    ///
    /// ## At the bench
    ///
    /// The mechanic reads the serial number off the plate, and two sheets with different torques fit it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/hand-pump-late.toml
    /// name = "Tarn Rush hand pump, late"
    /// like = "hand-pump"
    /// from = "HP-2400"
    /// ```
    ///
    /// ## Fix
    ///
    /// Give the earlier machine a `to`, the number before the first of the later one.
    "serial-numbers-overlap", Names, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for group in variants(shop) {
        for (index, machine) in group.iter().enumerate() {
            let mut earlier = group[..index].iter();
            let Some(other) = earlier.find(|other| other.serials.meets(&machine.serials)) else {
                continue;
            };
            let message = format!(
                "`{}` and `{}` are for the same serial numbers",
                other.id, machine.id
            );
            let finding = Finding::new(&RULE, message)
                .primary(machine.serials_span(), "")
                .secondary(other.serials_span(), "also for some of these");
            findings.push(finding.help(
                "limit one of them by `from` or `to`, or say in `fitted` what only one of them has",
            ));
        }
    }
}
