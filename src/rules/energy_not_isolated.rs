//! See [`RULE`].

use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{EnergyState, Scene};
use crate::shop::Energy;

rule! {
    /// An energy source is proved or restored although it was not isolated.
    ///
    /// ## At the bench
    ///
    /// A spring that was never released is wound up a second time, and its rope breaks.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [energy.spring-lever]
    /// name = "spring of the lever"
    /// kind = "spring"
    /// endangers = ["lid"]
    /// isolate = "Hook the lever down"
    /// prove = "Let go: the lever stays"
    /// restore = "Unhook the lever"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](restore:spring-lever)
    /// ```
    ///
    /// ## Fix
    ///
    /// Isolate it and prove it safe before the work, most simply with `begin = ["make-safe"]`. If it is restored
    /// twice, delete the second step.
    "energy-not-isolated", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Energy(&[Verb::Prove, Verb::Restore], check)];

fn check(scene: &Scene<'_, '_>, energy: &Energy, findings: &mut Findings) {
    let state = scene.before.energy(energy.id);
    // Restoring heat has a rule of its own.
    let is_impossible = energy.is_heat() && scene.action.verb == Verb::Restore;
    if state.now != EnergyState::Live || is_impossible {
        return;
    }
    let id = &energy.key;
    let done = match scene.action.verb {
        Verb::Prove => "proved",
        _ => "restored",
    };
    let message = format!("`{id}` is {done} but was not isolated");
    let help = match (scene.action.verb, state.since) {
        (Verb::Prove, _) => format!("add `[](isolate:{id})` before this step"),
        (_, None) => format!(
            "add `[](isolate:{id})` and `[](prove:{id})` before the work after which it is restored"
        ),
        (_, Some(_)) => format!(
            "delete this step: it is already live; if there is work in between, add `[](isolate:{id})` and \
             `[](prove:{id})` before it"
        ),
    };
    findings.push(
        scene
            .finding(&RULE, message, "")
            .help(help)
            // A step directly before `restore` would protect nobody.
            .propose(
                Place::Before,
                (scene.action.verb == Verb::Prove).then(|| format!("isolate:{id}")),
            )
            .blame(Blamed::Energy(id), state.since, "made live here"),
    );
}
