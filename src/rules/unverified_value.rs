//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Shop, Sourced};

rule! {
    /// A value has no basis: its source is not given.
    ///
    /// ## At the bench
    ///
    /// A torque that somebody guessed looks the same as the maker's. Such a value is marked
    /// *unverified* on every sheet.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/foot-pump.toml
    /// name = "Tarn Reed foot pump"
    /// [part.cover-nut]
    /// name = "cover nut"
    /// torque = "9 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write `basis` on the record, or once at the top of the machine's file: `"maker's manual, 2019,
    /// p. 31"`.
    "unverified-value", Quantities, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        let of_parts = machine.parts.values().flat_map(|part| {
            // All stages have the same basis, so only the last is checked.
            part.stages.last().into_iter().chain(&part.limits)
        });
        let of_readings = machine
            .readings
            .values()
            .filter_map(|reading| reading.limits.as_ref());
        let of_fluids = machine
            .fluids
            .values()
            .filter_map(|fluid| fluid.capacity.as_ref());
        for value in of_parts.chain(of_readings).chain(of_fluids) {
            judge(value, &machine.id, findings);
        }
    }
}

fn judge(value: &Sourced, machine: &str, findings: &mut Findings) {
    if value.basis.is_none() {
        findings.push(
            Finding::new(&RULE, format!("a value of `{machine}` has no basis"))
                .primary(value.spec.span, "printed as *unverified*")
                .help("add `basis = \"…\"` to say where the value comes from"),
        );
    }
}
