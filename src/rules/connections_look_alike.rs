//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// Two plugs, sockets or leads are off at the same time, and nothing tells one from the other.
    ///
    /// Their `wires` have the same colours in the same order. `mark` on one of them, other colours, or a `note:` of how one
    /// of them sits before it is taken off tells them apart. If the first is back on before the second comes off, they
    /// can't be exchanged.
    ///
    /// ## At the bench
    ///
    /// Both fit both places. The machine runs, and its charging coil feeds the stop wire.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.left-lead]
    /// name = "left lead"
    /// wires = ["L BK"]
    /// [part.right-lead]
    /// name = "right lead"
    /// wires = ["R BK"]
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](remove:left-lead)
    /// 2. [](remove:right-lead)
    /// 3. [](fit:left-lead)
    /// 4. [](fit:right-lead)
    /// ```
    ///
    /// ## Fix
    ///
    /// Mark one of them before it comes off, and write the mark into its record, as in `mark = "white tape"`. Or note it:
    /// `[](note:left-lead)`.
    "connections-look-alike", Rehearsal, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Remove], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    if part.wires.is_empty() || is_told_apart(scene, part) {
        return;
    }
    for (other, state) in scene.before.parts() {
        let is_alike = other.id != part.id && looks_like(part, other);
        if state.place != PartPlace::Off || !is_alike || is_told_apart(scene, other) {
            continue;
        }
        let message = format!(
            "`{}` comes off while `{}` is off, and nothing tells them apart",
            part.key, other.key
        );
        findings.push(
            scene
            .finding(&RULE, message, "comes off here")
            .help(format!(
                "mark one of them, as in `mark = \"white tape\"` on `{}`, or add `[](note:{})` before the step",
                part.key, part.key
            ))
            .since(state.since, "the other came off here"),
        );
        return;
    }
}

/// Whether something tells the part from one that looks the same.
fn is_told_apart(scene: &Scene<'_, '_>, part: &Part) -> bool {
    part.mark.is_some() || scene.before.part(part.id).noted.is_some()
}

/// Whether the wires of two parts have the same colours in the same order.
fn looks_like(part: &Part, other: &Part) -> bool {
    let mut pairs = part.wires.iter().zip(&other.wires);
    part.wires.len() == other.wires.len()
        && pairs.all(|(left, right)| left.value.has_colours_of(&right.value))
}
