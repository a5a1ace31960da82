//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;
use crate::trade::{Day, last_day_of_calibration};

rule! {
    /// A tool's calibration is out of date on the day given with `--on`.
    ///
    /// Without `--on` the rule reports nothing, because the same sources must give the same pages on
    /// any day. A tool without a `due` date is due 12 months after its `calibrated` date.
    ///
    /// ## At the bench
    ///
    /// A torque wrench that was dropped since its last calibration may set the wrong torque.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === on 2027-03-01
    /// === + tools.toml
    /// [tool.torque-small]
    /// name = "small torque wrench"
    /// range = "3 N·m to 15 N·m"
    /// tolerance = "2 %"
    /// calibrated = 2026-02-09
    /// ```
    ///
    /// ## Fix
    ///
    /// Have the tool calibrated and enter the new date, or take it out of the crib.
    "calibration-out-of-date", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Day(check)];

fn check(shop: &Shop, day: Day, findings: &mut Findings) {
    for tool in shop.tools.values() {
        let due = tool.due.as_ref();
        let Some(known) = tool.calibrated.as_ref().or(due) else {
            continue;
        };
        let last = last_day_of_calibration(known.value, due.map(|due| due.value));
        if day > last {
            let message = format!(
                "the calibration of `{}` expired on {last}, before {day}",
                tool.key
            );
            let place = due.unwrap_or(known);
            findings.push(
                Finding::new(&RULE, message)
                    .primary(place.span, "")
                    .help("have it calibrated before it is used again, then enter the new date"),
            );
        }
    }
}
