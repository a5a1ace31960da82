//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{CribChoice, Shop};

rule! {
    /// No torque tool of the crib covers a fastener's torque.
    ///
    /// A crib without any torque tool gives no such finding: it has not been written down yet.
    ///
    /// ## At the bench
    ///
    /// The wrench that is there clicks outside the range it was calibrated for, or not at all.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.torque-large]
    /// name = "large torque wrench"
    /// range = "40 N·m to 200 N·m"
    /// === + machines/hand-pump.toml
    /// [part.lid-bolt]
    /// name = "lid bolt"
    /// torque = "9 N·m ± 1 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write down the tool that does, or borrow one.
    "no-torque-tool", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let (Some(stage), Some(CribChoice::Nearest(tool))) =
            (part.stages.last(), shop.torque_tool_for(part))
        else {
            continue;
        };
        let Some(torque) = &tool.torque else { continue };
        let message = format!(
            "no torque tool of the crib covers `{}` of `{}`",
            part.key, machine.id
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(stage.spec.span, "")
                .secondary(
                    tool.span,
                    format!(
                        "comes nearest: {} to {}",
                        torque.lowest().text(),
                        torque.highest().text()
                    ),
                ),
        );
    }
}
