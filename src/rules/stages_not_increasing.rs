//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::quantity::Quantity;
use crate::shop::Shop;
use crate::trade::check_stages;

rule! {
    /// The stages of a tightening do not increase from one to the next.
    ///
    /// ## At the bench
    ///
    /// A second stage below the first has no effect: the wrench clicks at once.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// stages = ["9 N·m", "5 N·m"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Put the stages in order, the lowest first.
    "stages-not-increasing", Trade, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let torques = part.torques();
        let nominals: Vec<Quantity> = torques
            .iter()
            .filter_map(crate::quantity::Limits::nominal)
            .collect();
        let Some(last) = torques.last() else { continue };
        if nominals.len() < torques.len() {
            continue;
        }
        if let Err(error) = check_stages(&nominals, last) {
            let message = format!(
                "the stages of `{}` of `{}` do not increase: {error}",
                part.key, machine.id
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(part.stages[0].spec.span, "the first stage")
                    .help("list them in the order in which they are tightened; the last is the full torque"),
            );
        }
    }
}
