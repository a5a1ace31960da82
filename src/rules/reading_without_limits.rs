//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Limits;
use crate::shop::{Shop, Sourced};

rule! {
    /// The `limits` of a reading or of a part are a single value, without a tolerance.
    ///
    /// ## At the bench
    ///
    /// The gauge shows 0.16 mm where 0.15 mm is wanted. One mechanic passes it, the next sets it again.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.lift]
    /// name = "lift"
    /// limits = "40 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write what is allowed: `"40 mm ± 1 mm"`, `"39 mm to 41 mm"`, `"at most 41 mm"`.
    "reading-without-limits", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        // The wear limit of a dimension has a rule of its own.
        let readings = machine.readings.values();
        for reading in readings.filter(|reading| reading.dimension.is_none()) {
            let limits = reading.limits.as_ref();
            report(limits, &reading.key, &machine.id, findings);
        }
    }
    for (machine, part) in parts(shop) {
        report(part.limits.as_ref(), &part.key, &machine.id, findings);
    }
}

fn report(limits: Option<&Sourced>, key: &str, machine: &str, findings: &mut Findings) {
    let Some(sourced) = limits.filter(|sourced| has_no_bound(sourced.spec.value.limits())) else {
        return;
    };
    let message = format!(
        "the limits of `{key}` of `{machine}` are the single value {}, so nothing can be judged by them",
        sourced.spec.value.limits().text()
    );
    findings.push(
        Finding::new(&RULE, message)
            .primary(sourced.spec.span, "")
            .help("add a tolerance, or write a range, `at least` or `at most`"),
    );
}

fn has_no_bound(limits: &Limits) -> bool {
    limits.lower().is_none() && limits.upper().is_none()
}
