//! See [`RULE`].

use super::check::On;
use super::shared::is_usual;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// A reading has no `tool`, although most of the shop's readings do.
    ///
    /// Most means at least four, and at least four in five. A reading that is taken from a gauge of the machine itself
    /// names the gauge as its tool.
    ///
    /// ## At the bench
    ///
    /// The sheet says what the value must be, but not what to measure it with, and the kit list lacks the meter. Nothing
    /// compares the meter with the limits.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.tape]
    /// name = "tape measure"
    /// === + machines/hand-pump.toml
    /// [reading.lift]
    /// name = "lift"
    /// limits = "40 mm ± 5 mm"
    /// tool = "tape"
    /// [reading.reach]
    /// name = "reach"
    /// limits = "400 mm ± 5 mm"
    /// tool = "tape"
    /// [reading.height]
    /// name = "height"
    /// limits = "800 mm ± 5 mm"
    /// tool = "tape"
    /// [reading.fall]
    /// name = "fall"
    /// limits = "60 mm ± 5 mm"
    /// tool = "tape"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the tool in `tool`, and add it to `tools.toml` if it is missing there.
    "reading-without-tool", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    let machines = || shop.machines.values().filter(|machine| machine.is_complete);
    // A level is looked at.
    let readings = || {
        let readings = machines().flat_map(|machine| machine.readings.values());
        readings.filter(|reading| reading.level.is_none())
    };
    let with = readings().filter(|reading| reading.tool.is_some());
    if !is_usual(with.count(), readings().count()) {
        return;
    }
    for machine in machines() {
        let readings = machine.readings.values();
        for reading in readings.filter(|reading| reading.tool.is_none()) {
            // Without limits there is another finding.
            let Some(limits) = &reading.limits else {
                continue;
            };
            let message = format!(
                "reading `{}` of `{}` has no `tool`, as most readings of the shop have",
                reading.key, machine.id
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(limits.spec.span, "measured with what?")
                    .help("name what it is measured with in `tool`"),
            );
        }
    }
}
