//! See [`RULE`].

use super::check::On;
use super::context::{Blamed, named};
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{EnergyState, Scene};
use crate::shop::Energy;

rule! {
    /// An energy source is proved safe before its lock, tag, block or pin is in place.
    ///
    /// `secured-by` on an energy names these tools. A `use:` of each has to come before the step that proves it, or be
    /// in it: before 29 CFR 1910.147(d)(6) has isolation verified, its (d)(4) has locks and tags put on (from memory).
    ///
    /// ## At the bench
    ///
    /// The switch is off and proved, and somebody who sees no tag switches it on again.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.tag]
    /// name = "do-not-use tag"
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [energy.lever-spring]
    /// name = "spring of the lever"
    /// kind = "spring"
    /// endangers = ["lid"]
    /// secured-by = ["tag"]
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
    /// 1. [](isolate:lever-spring)
    /// 2. [](prove:lever-spring)
    /// 3. [](restore:lever-spring)
    /// ```
    ///
    /// ## Fix
    ///
    /// Put the lock, tag, block or pin on between isolating and proving.
    "isolation-not-secured", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Energy(&[Verb::Prove], check)];

fn check(scene: &Scene<'_, '_>, energy: &Energy, findings: &mut Findings) {
    // What is not isolated can't be secured, which `energy-not-isolated` reports.
    if scene.before.energy(energy.id).now != EnergyState::Isolated {
        return;
    }
    let missing = energy.secured_by.iter();
    let missing = missing.filter(|tool| !scene.is_at_hand(tool.value));
    let keys: Vec<&str> = missing
        .clone()
        .map(|tool| scene.shop.tools[tool.value].key.as_str())
        .collect();
    let Some((names, verb)) = named(&keys) else {
        return;
    };
    let message = format!("`{}` is proved before {names} {verb} in place", energy.key);
    let added: Vec<String> = keys.iter().map(|key| format!("use:{key}")).collect();
    let written: Vec<String> = added.iter().map(|added| format!("`[]({added})`")).collect();
    let mut finding = scene.finding(&RULE, message, "proved here");
    for tool in missing {
        let key = &scene.shop.tools[tool.value].key;
        finding = finding
            .secondary(tool.span, "keeps it isolated")
            .because_of(Blamed::Equipment(key), None);
    }
    findings.push(
        finding
            .help(format!("add {} before this step", written.join(" and ")))
            .propose(Place::Before, added),
    );
}
