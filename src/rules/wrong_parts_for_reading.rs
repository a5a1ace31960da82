//! See [`RULE`].

use super::advice::{actions_of_clearing, actions_of_closing, clearing, closing};
use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Reading;

rule! {
    /// A reading is measured or adjusted while a part that it needs is off or loose, or a part that must be off is on.
    ///
    /// `with` and `without` on a reading name these parts.
    ///
    /// ## At the bench
    ///
    /// A float that is measured without its pin gives a false height.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [reading.lift]
    /// name = "lift"
    /// limits = "4 mm to 5 mm"
    /// without = ["lid"]
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
    /// ```
    ///
    /// ## Fix
    ///
    /// Measure when the right parts are on and off, or correct `with` and `without` on the reading.
    "wrong-parts-for-reading", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Reading(&[Verb::Measure, Verb::Adjust], check)];

fn check(scene: &Scene<'_, '_>, reading: &Reading, findings: &mut Findings) {
    let done = match scene.action.verb {
        Verb::Adjust => "adjusted",
        _ => "measured",
    };
    let needed = reading.with.iter().map(|part| (part, true));
    let in_way = reading.without.iter().map(|part| (part, false));
    for (part, has_to_be_on) in needed.chain(in_way) {
        let state = scene.before.part(part.value);
        let (how, label) = match (state.place, has_to_be_on) {
            (PartPlace::Off, true) => ("off", "removed here"),
            (PartPlace::Loose, true) => ("loose", "loosened here"),
            (PartPlace::On | PartPlace::Loose, false) => ("on", "fitted here"),
            _ => continue,
        };
        let other = &scene.machine.parts[part.value];
        let (help, actions) = if has_to_be_on {
            (
                closing(other, state.place),
                actions_of_closing(scene.before, scene.machine, other),
            )
        } else {
            (clearing(scene, other), actions_of_clearing(scene, other))
        };
        let message = format!(
            "`{}` is {done} while `{}` is {how}",
            reading.key, scene.machine.parts[part.value].key
        );
        findings.push(
            scene
                .finding(&RULE, message, "")
                .secondary(
                    part.span,
                    if has_to_be_on {
                        "must be on"
                    } else {
                        "must be off"
                    },
                )
                .help(help)
                .propose_undoing(state.since.map(|moment| moment.span), actions)
                .blame(
                    Blamed::Part(&scene.machine.parts[part.value].key),
                    state.since,
                    label,
                ),
        );
    }
}
