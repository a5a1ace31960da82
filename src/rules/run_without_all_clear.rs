//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{LostBy, Shop};

rule! {
    /// A machine with an engine can be run without confirming, after work on it, that tools and people are clear.
    ///
    /// ## At the bench
    ///
    /// A wrench left on a flywheel flies off at the first pull.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/mower.toml
    /// name = "Tarn Mallow mower"
    /// basis = "invented"
    /// engine = { kind = "4-stroke" }
    /// [part.deck]
    /// name = "deck"
    /// [run]
    /// start = "Pull."
    /// ```
    ///
    /// ## Fix
    ///
    /// Declare a condition that any work ends, `lost-by = ["work"]`, and name it under `needs` of
    /// `[run]`. Each procedure then confirms it before every run of the engine.
    "run-without-all-clear", Rehearsal, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    // A machine without `start` may be one that no procedure runs.
    let machines = shop
        .machines
        .values()
        .filter(|machine| machine.run.start.is_some() && machine.engine.is_some());
    for machine in machines {
        let mut needs = machine.run.needs.iter();
        let is_cleared = needs.any(|need| {
            let mut lost_by = machine.conditions[need.value].lost_by.iter();
            lost_by.any(|by| by.value == LostBy::Work)
        });
        // The condition may be in a part of the file that could not be read.
        if is_cleared || !machine.is_complete {
            continue;
        }
        let message = format!(
            "`{}` can be run without confirming that tools and people are clear",
            machine.id
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(machine.name.span, "")
                .help(
                    "add a condition such as \"tools away and everybody clear\" with `lost-by = [\"work\"]`, and name it in \
                     `needs` of `[run]`",
                ),
        );
    }
}
