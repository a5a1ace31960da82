//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::shop::{CribChoice, Shop, Tool};

rule! {
    /// No torque tool in the crib covers a fastener's torque.
    ///
    /// If the crib has no torque tool at all, the rule reports nothing: the crib has not been entered
    /// yet.
    ///
    /// ## At the bench
    ///
    /// The only wrench in the shop would be used outside the range it was calibrated for.
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
    /// Enter the tool that covers the torque, or borrow one.
    "no-torque-tool", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    // What a tool without its range covers is not known; `incomplete-tool` reports the range.
    let is_incomplete =
        |tool: &Tool| tool.range.is_none() && (tool.has_tolerance || tool.graduation.is_some());
    if shop.tools.values().any(is_incomplete) {
        return;
    }
    for (machine, part) in parts(shop) {
        let (Some(stage), Some(CribChoice::Nearest(tool))) =
            (part.stages.last(), shop.torque_tool_for(part))
        else {
            continue;
        };
        let Some(torque) = &tool.torque else { continue };
        let message = format!(
            "no torque tool in the crib covers the torque of `{}` of `{}`",
            part.key, machine.id
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(stage.spec.span, "")
                .secondary(
                    tool.span,
                    format!(
                        "nearest range: {} to {}",
                        torque.lowest().text(),
                        torque.highest().text()
                    ),
                )
                .help("add the tool that covers it to the crib, or correct the torque if it is mistyped"),
        );
    }
}
