//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part that is cleaned whenever it is off goes back as it came off, or is cleaned while it is on.
    ///
    /// Such a part has `clean = true` on the machine.
    ///
    /// ## At the bench
    ///
    /// What was scraped off the bench is in the engine now.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// clean = true
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
    /// ## Mend
    ///
    /// Add `[](clean:…)` while it is off. Where it need not be, take `clean` off the machine's file.
    "refitted-dirty", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let before = scene.before.of(part);
    let is_off = before.place == PartPlace::Off;
    let id = &part.id;
    let (message, help) = match scene.act.verb {
        Verb::Fit if part.clean && is_off && before.cleaned.is_none() => (
            format!("`{id}` goes back and nobody has cleaned it"),
            format!("add `[](clean:{id})` before it goes back"),
        ),
        Verb::Clean if part.clean && !is_off => (
            format!("`{id}` is cleaned while it is on"),
            format!("add `[](remove:{id})` before it, or take `clean` off its record"),
        ),
        _ => return,
    };
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "")
        .help(help);
    let word = if is_off {
        "taken off here"
    } else {
        "put on here"
    };
    findings.push(super::since(finding, before.since, word));
}
