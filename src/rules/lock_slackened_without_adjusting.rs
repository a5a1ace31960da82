//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A fastener that locks a reading is slackened and tightened again, but the reading is not adjusted.
    ///
    /// ## At the bench
    ///
    /// Perhaps the adjustment is missing from the sheet. If not, the setting was disturbed for no
    /// reason.
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
    /// 1. [](slacken:lock)
    /// 2. [](tighten:lock)
    /// ```
    ///
    /// ## Fix
    ///
    /// Add `[](adjust:…)`, and measure before and after it, or leave the lock alone.
    "lock-slackened-without-adjusting", Rehearsal, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Tighten], check)];

fn check(scene: &Scene<'_, '_>, lock: &Part, findings: &mut Findings) {
    let before = scene.before.part(lock.id);
    // A lock that was removed may have been in the way of another part.
    let is_slackened = matches!(before.how, Some((Verb::Slacken, _)));
    if before.place != PartPlace::Loose || !is_slackened {
        return;
    }
    for reading in scene.machine.readings.values() {
        let Some(locks) = reading
            .locked_by
            .iter()
            .find(|locking| locking.value == lock.id)
        else {
            continue;
        };
        if scene.before.account().was_done(Verb::Adjust, reading.id) {
            continue;
        }
        let message = format!(
            "`{}` is slackened and tightened, but `{}` is not adjusted",
            lock.key, reading.key
        );
        findings.push(
            scene
                .finding(&RULE, message, "tightened here")
                .secondary(locks.span, "listed as its lock")
                .help(format!(
                    "add `[](adjust:{0})` before this step, with `[](measure:{0})` before it and after this step",
                    reading.key
                ))
                .since(before.since, "slackened here"),
        );
    }
}
