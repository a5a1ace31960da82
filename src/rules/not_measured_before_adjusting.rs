//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{EngineState, PartPlace, Scene};
use crate::shop::{EngineNeed, PartId, Reading};

rule! {
    /// A reading is adjusted before it is measured, although it could have been measured.
    ///
    /// It need not be measured once the setting that the job found is lost: a fastener that locks it was taken off, or
    /// a part that it is measured on was renewed. A new belt has no tension as found.
    ///
    /// ## At the bench
    ///
    /// Without the value as found, the shop can't tell whether the reading was out of limits, or how
    /// far it drifts in a season.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](adjust:stroke)
    /// 2. [](measure:stroke)
    /// ```
    ///
    /// ## Fix
    ///
    /// Measure the reading as found, and adjust it only if it is out of limits.
    "not-measured-before-adjusting", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Adjust], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    let account = scene.before.account();
    let is_again = account.was_done(Verb::Adjust, reading.id);
    let is_measured = account.was_done(Verb::Measure, reading.id);
    if is_again || is_measured || !could_be_measured(scene, reading) || is_lost(scene, reading) {
        return;
    }
    let message = format!("`{}` is adjusted before it is measured", reading.key);
    let finding = scene.finding(&RULE, message, "adjusted here").help(format!(
        "add `[](measure:{})` before this step",
        reading.key
    ));
    findings.push(finding.propose(Place::Before, [format!("measure:{}", reading.key)]));
}

/// Whether the setting that the job found no longer exists.
fn is_lost(scene: &Scene<'_, '_>, reading: &Reading) -> bool {
    let before = scene.before;
    let mut locks = reading.locked_by.iter();
    let mut parts = reading.with.iter();
    locks.any(|lock| before.part(lock.value).removed_at.is_some())
        || parts.any(|part| before.account().was_done(Verb::Renew, part.value))
}

/// A speed that is set on a standing engine can only be measured later.
fn could_be_measured(scene: &Scene<'_, '_>, reading: &Reading) -> bool {
    let before = scene.before;
    let place = |part: PartId| before.part(part).place;
    let is_running = before.engine().now == EngineState::Running;
    let wants_running = |need: EngineNeed| need == EngineNeed::Running;
    let engine = reading.engine.as_ref();
    engine.is_none_or(|need| wants_running(need.value) == is_running)
        && reading
            .needs
            .iter()
            .all(|need| before.condition(need.value).is_some())
        && reading
            .with
            .iter()
            .all(|part| place(part.value) == PartPlace::On)
        && reading
            .without
            .iter()
            .all(|part| place(part.value) == PartPlace::Off)
}
