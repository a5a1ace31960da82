//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Part;

rule! {
    /// A linkage is removed before its position is noted, and the machine's file does not give the position.
    ///
    /// ## At the bench
    ///
    /// It is refitted in the wrong hole, and the engine hunts or overspeeds.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/rod.md
    /// +++
    /// title = "Pump rod"
    /// machines = ["hand-pump"]
    /// +++
    /// Moves the plunger.
    ///
    /// ## Clean
    ///
    /// 1. [](remove:pump-rod)
    /// 2. [](clean:pump-rod)
    /// 3. [](fit:pump-rod)
    /// ```
    ///
    /// ## Fix
    ///
    /// Add `[](note:…)` before the linkage is removed. If its position never varies, enter `position`
    /// on the machine.
    "position-not-noted", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Remove], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let is_unknown = part.is_linkage() && part.position.is_none();
    let is_noted = scene.before.part(part.id).noted.is_some();
    if !is_unknown || is_noted {
        return;
    }
    let id = &part.key;
    let positions: Vec<&str> = part
        .positions
        .iter()
        .map(|position| position.value.as_str())
        .collect();
    let message = format!("`{id}` is removed before its position is noted");
    let mut finding = scene
        .finding(&RULE, message, "removed here")
        .help(format!("add `[](note:{id})` before it is removed"))
        .propose(Place::Back, [format!("note:{id}")]);
    if let Some(first) = part.positions.first() {
        finding = finding.secondary(
            first.span,
            format!("possible positions: {}", positions.join(", ")),
        );
    }
    findings.push(finding);
}
