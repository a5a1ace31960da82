//! See [`RULE`].

use super::check::On;
use super::shared::holds_fluid;
use crate::finding::{self, Finding, Findings, rule};
use crate::job::{Job, Thing};
use crate::procedure::Cause;
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is inspected, but nothing says what is acceptable: neither the part's record nor the fault table.
    ///
    /// In a procedure, that is reported on a machine that gives a criterion for at least eight parts. A look at a part in
    /// its place may be for leaks, if the part holds a fluid or a line, or a seal closes its joint. A part that is renewed
    /// each time needs no criterion, and the `note` of a part may be one.
    ///
    /// ## At the bench
    ///
    /// "Inspect the cover" does not tell a worn cover from a good one.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === faults/stiff.md
    /// +++
    /// title = "Stiff"
    /// machines = ["hand-pump"]
    /// +++
    /// The lever takes two hands.
    ///
    /// ## All of it
    ///
    /// 1. Grit under the cover.
    ///    - [](inspect:cover)
    ///    - [](see:procedure/cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Give the part `reuse` or `limits` on the machine, or add the criterion as a point between the
    /// test and the remedy.
    "inspection-without-criterion", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Fault(check), On::Part(&[Verb::Inspect], check_part)];

/// The least number of parts with a criterion that a machine must have.
const LEAST: usize = 8;

fn check_part(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let is_described = part.is_judged() || part.single_use || part.note.is_some();
    let is_off = scene.before.part(part.id).place == PartPlace::Off;
    if is_described || (!is_off && holds_fluid(scene.machine, part)) {
        return;
    }
    let others = scene.machine.parts.values().filter(|part| part.is_judged());
    if others.count() < LEAST {
        return;
    }
    let message = format!(
        "there is no criterion for inspecting `{}` of `{}`",
        part.key, scene.machine.id
    );
    let mut finding = scene
        .finding(&RULE, message, "")
        .primary(part.span, "has neither `reuse` nor `limits`")
        .secondary(scene.action.span, "inspected here")
        .help("add one of them, so that every mechanic judges it alike");
    // One record is to blame in all jobs, or one action on all machines.
    finding.causes.push(finding::Cause {
        thing: format!("record of {}", part.key),
        since: None,
        is_shared: true,
    });
    findings.push(finding);
}

fn check(fault: &Job<'_>, findings: &mut Findings) {
    for step in fault.steps() {
        if !Cause::of(step.notes).expected.is_empty() {
            continue;
        }
        for action in &step.actions {
            let (Verb::Inspect, Thing::Part(part)) = (action.verb, action.thing) else {
                continue;
            };
            if !part.is_judged() {
                let message = format!("there is no criterion for inspecting `{}`", part.key);
                findings.push(
                    Finding::new(&RULE, message)
                        .primary(action.span, "")
                        .secondary(part.span, "has neither `reuse` nor `limits`")
                        .help("add one of them, or add the criterion as a point after the test"),
                );
            }
        }
    }
}
