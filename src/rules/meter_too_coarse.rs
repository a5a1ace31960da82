//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, Level, rule};
use crate::shop::Shop;
use crate::trade::AdequacyLevel;

rule! {
    /// A reading's meter is too coarse for the reading's limits.
    ///
    /// Below an accuracy ratio of 4:1 this is advice. Below 1:1 it is a warning: the meter can't tell
    /// good from bad.
    ///
    /// ## At the bench
    ///
    /// A gauge whose error is as wide as the limits passes readings that should fail.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.tape]
    /// name = "tape measure"
    /// resolution = "1 mm"
    /// accuracy = "2 mm"
    /// === + machines/hand-pump.toml
    /// [reading.lift]
    /// name = "lift"
    /// limits = "40 mm ± 5 mm"
    /// tool = "tape"
    /// ```
    ///
    /// ## Fix
    ///
    /// Use a finer meter.
    "meter-too-coarse", Trade, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for machine in shop.machines.values() {
        for reading in machine.readings.values() {
            let tool = shop.tool_of(reading);
            let (Some(limits), Some(tool)) = (&reading.limits, tool) else {
                continue;
            };
            let judged = tool
                .meter
                .as_ref()
                .and_then(|meter| meter.judge(limits.spec.value.limits()));
            let Some(adequacy) = judged else { continue };
            let level = match adequacy.level {
                AdequacyLevel::Close => Level::Advice,
                AdequacyLevel::TooCoarse | AdequacyLevel::OutOfRange => Level::Warning,
                AdequacyLevel::Ample => continue,
            };
            let ratio = adequacy.ratio.map(|ratio| ratio.text()).unwrap_or_default();
            let message = format!(
                "the meter for `{}` of `{}` has an accuracy ratio of {ratio}, below 4:1",
                reading.key, machine.id
            );
            let mut finding = Finding::new(&RULE, message)
                .primary(limits.spec.span, "")
                .secondary(tool.span, "the meter");
            finding.level = level;
            findings.push(match adequacy.window {
                Some(window) => finding.help(format!(
                    "a reading within {window} is certainly within the limits; for any other, use a finer tool"
                )),
                None => finding.help("measure it with a finer tool: the error of this one is wider than the limits"),
            });
        }
    }
}
