//! See [`RULE`].

use super::check::On;
use super::context::{Blamed, Ending, named};
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{Moment, Scene, State};
use crate::shop::{Machine, Shop, ThingId};
use indexmap::IndexMap;

rule! {
    /// The engine is run or the job ends before the required second person has signed.
    ///
    /// `signed-by` on a part, a fluid, a reading or `[run]` names the role that must sign.
    ///
    /// ## At the bench
    ///
    /// A wrong torque on a blade bolt can kill. The second signature exists to catch it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// signed-by = "mechanic"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. [](remove:lid)
    /// 2. [](fit:lid)
    /// ```
    ///
    /// ## Fix
    ///
    /// Add `[](hold:…)` after the work, with the points to check below it.
    "missing-signature", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Action(&[Verb::Run], before_run), On::Ending(at_end)];

fn before_run(scene: &Scene<'_, '_>, findings: &mut Findings) {
    for (role, things) in unsigned(scene.before, scene.shop, scene.machine) {
        // All runs of the engine are signed for together, when the job ends.
        let things = things.into_iter().filter(|(id, ..)| *id != ThingId::Engine);
        let things: Vec<_> = things.collect();
        let keys: Vec<&str> = things.iter().map(|(_, key, _)| *key).collect();
        let Some((names, _)) = named(&keys) else {
            continue;
        };
        let message = format!("the engine is run before `{role}` has signed for {names}");
        let finding = scene
            .finding(&RULE, message, "run here")
            .help(format!("{}, before the engine is run", help(role)))
            .propose(Place::Before, [format!("hold:{role}")])
            .because_of(Blamed::Signature(role), None);
        findings.push(things.iter().fold(finding, |finding, (_, _, since)| {
            finding.secondary(since.span, "done here")
        }));
    }
}

fn at_end(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (role, things) in unsigned(ending.end, ending.job.shop, ending.job.machine) {
        let keys: Vec<&str> = things.iter().map(|(_, key, _)| *key).collect();
        let Some((names, _)) = named(&keys) else {
            continue;
        };
        let message = format!("`{role}` has not signed for {names} when the job ends");
        let mut moments = things.iter().map(|(_, _, since)| *since);
        let finding = ending
            .finding(&RULE, message, moments.next(), "done here")
            .help(help(role))
            .propose(Place::Late, [format!("hold:{role}")]);
        findings.push(moments.fold(finding, |finding, since| {
            finding.secondary(since.span, "done here")
        }));
    }
}

/// A thing that waits for a signature, its key, and the action that requires the signature.
type Unsigned<'a> = (ThingId, &'a str, Moment);

/// The things that wait for a signature, by role.
fn unsigned<'a>(
    state: &State<'_>,
    shop: &'a Shop,
    machine: &'a Machine,
) -> IndexMap<&'a str, Vec<Unsigned<'a>>> {
    let mut roles: IndexMap<&str, Vec<Unsigned<'_>>> = IndexMap::new();
    for (role, thing, since) in state.account().unsigned() {
        let things = roles.entry(&shop.roles[role].key).or_default();
        things.push((thing, thing.key(shop, machine), since));
    }
    roles
}

fn help(role: &str) -> String {
    format!("add `[](hold:{role})` after this work")
}
