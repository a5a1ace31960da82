//! See [`RULE`].

use super::check::On;
use super::shared::is_usual;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// An energy source has no cautions, although most of the shop's energy sources do.
    ///
    /// Most means at least four, and at least four in five.
    ///
    /// ## At the bench
    ///
    /// The first step that deals with the energy is printed without a safety message. Nobody is told what it can do.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [energy.weight]
    /// name = "weight of the lever"
    /// kind = "gravity"
    /// isolate = "Block the lever"
    /// prove = "It rests on the block"
    /// restore = "Pull the block"
    /// endangers = ["lid"]
    /// cautions = ["sharp-edge"]
    /// [energy.charge]
    /// name = "pressure in the dome"
    /// kind = "pressure"
    /// isolate = "Open the dome"
    /// prove = "No hiss"
    /// restore = "Close the dome"
    /// endangers = ["lid"]
    /// cautions = ["sharp-edge"]
    /// [energy.spring]
    /// name = "lever spring"
    /// kind = "spring"
    /// isolate = "Unhook the spring"
    /// prove = "The lever hangs"
    /// restore = "Hook the spring on"
    /// endangers = ["lid"]
    /// cautions = ["sharp-edge"]
    /// [energy.swing]
    /// name = "swing of the lever"
    /// kind = "motion"
    /// isolate = "Tie the lever"
    /// prove = "It does not move"
    /// restore = "Untie the lever"
    /// endangers = ["lid"]
    /// cautions = ["sharp-edge"]
    /// [energy.second-spring]
    /// name = "valve spring"
    /// kind = "spring"
    /// isolate = "Clip the spring"
    /// prove = "The clip sits"
    /// restore = "Take the clip off"
    /// endangers = ["lid"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the cautions of the energy in its `cautions`, and write the missing ones in `cautions.toml`.
    "energy-without-caution", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    let machines = || shop.machines.values().filter(|machine| machine.is_complete);
    let energies = || machines().flat_map(|machine| machine.energies.values());
    let with = energies().filter(|energy| !energy.cautions.is_empty());
    if !is_usual(with.count(), energies().count()) {
        return;
    }
    for machine in machines() {
        let energies = machine.energies.values();
        for energy in energies.filter(|energy| energy.cautions.is_empty()) {
            let message = format!(
                "energy `{}` of `{}` has no cautions, as most energies of the shop have",
                energy.key, machine.id
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(energy.span, "")
                    .help("name its cautions in `cautions`: they are printed at the first step that deals with it"),
            );
        }
    }
}
