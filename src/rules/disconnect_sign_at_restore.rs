//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, rule};
use crate::prose::Verb;
use crate::shop::Shop;

rule! {
    /// A message that asks to disconnect before the work is also printed where an energy source is restored.
    ///
    /// It is a message with the sign M021 of ISO 7010, "Disconnect before carrying out maintenance or repair", that an
    /// energy source names in `cautions` and that is not limited with `at`.
    ///
    /// ## At the bench
    ///
    /// The sheet says to pull the plug cap, above the step that says to push it on. Messages that contradict the step
    /// are soon not read.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + cautions.toml
    /// [caution.spring]
    /// signal-word = "warning"
    /// signs = ["M021"]
    /// hazard = "The lever strikes when its spring is hooked on"
    /// consequence = "Broken fingers"
    /// avoid = "Unhook the spring before the work"
    /// === + machines/hand-pump.toml
    /// [part.lever]
    /// name = "lever"
    /// [energy.spring]
    /// kind = "spring"
    /// endangers = ["lever"]
    /// isolate = "Unhook the spring"
    /// prove = "Move the lever: it stays"
    /// restore = "Hook the spring on"
    /// cautions = ["spring"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Limit the message with `at = ["isolate", "prove"]`. If restoring has a danger of its own, write a message about
    /// that with `at = ["restore"]`.
    "disconnect-sign-at-restore", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// "Disconnect before carrying out maintenance or repair", ISO 7010.
const DISCONNECT: &str = "M021";

fn check(shop: &Shop, findings: &mut Findings) {
    for caution in shop.cautions.values() {
        let sign = caution.signs.iter().find(|sign| sign.value == DISCONNECT);
        let Some(sign) = sign else {
            continue;
        };
        if !caution.at.is_empty() && !caution.at.contains(&Verb::Restore) {
            continue;
        }
        let energies = shop
            .machines
            .values()
            .flat_map(|machine| machine.energies.values());
        let mut named = energies
            .filter(|energy| !energy.is_heat())
            .flat_map(|energy| energy.cautions.iter().map(move |named| (energy, named)));
        let Some((energy, named)) = named.find(|(_, named)| named.value == caution.id) else {
            continue;
        };
        let message = format!(
            "`{}` asks to disconnect, and is also printed where `{}` is restored",
            caution.key, energy.key
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(sign.span, "asks to disconnect before the work")
                .secondary(named.span, "printed at all steps on it")
                .help("add `at = [\"isolate\", \"prove\"]` to the message"),
        );
    }
}
