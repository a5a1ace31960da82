//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Reading;

rule! {
    /// A reading is adjusted while the fastener that locks it is tight.
    ///
    /// `locked-by` on a reading names the fastener.
    ///
    /// ## At the bench
    ///
    /// The adjuster is forced, and its thread strips.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lock]
    /// name = "locknut"
    /// thread = "M6"
    /// [reading.lift]
    /// name = "lift"
    /// limits = "4 mm to 5 mm"
    /// locked-by = ["lock"]
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](measure:lift)
    /// 2. [](adjust:lift)
    /// 3. [](measure:lift)
    /// ```
    ///
    /// ## Fix
    ///
    /// Slacken the lock first, and tighten it afterwards. Then measure: tightening can move the
    /// setting.
    "adjusted-while-locked", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Adjust], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    for lock in &reading.locked_by {
        let state = scene.before.part(lock.value);
        if state.place != PartPlace::On {
            continue;
        }
        let fastener = &scene.machine.parts[lock.value].key;
        let message = format!("`{}` is adjusted while `{fastener}` locks it", reading.key);
        findings.push(
            scene
                .finding(&RULE, message, "adjusted here")
                .secondary(lock.span, "locks it")
                .help(format!("add `[](slacken:{fastener})` before this step"))
                .propose(Place::Before, [format!("slacken:{fastener}")])
                .blame(Blamed::Part(fastener), state.since, "tightened here"),
        );
    }
}
