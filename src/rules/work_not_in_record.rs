//! See [`RULE`].

use super::check::On;
use crate::finding::{Cause, Findings, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A job cleans a part that is off, or notes its position, but the part's record does not ask for that.
    ///
    /// The record asks with `clean = true`, or with `positions`. Cleaning is reported only on a machine that has `clean`
    /// for at least four parts, and noting on one that has `positions` for at least two. A part with a `note` is not
    /// reported: the note says what is different. Nor is the cleaning of a part with `faces`, which are cleaned anyway.
    ///
    /// ## At the bench
    ///
    /// This job cleans the part. Another one, written by someone else, refits it dirty, and no check misses the step.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// clean = true
    /// [part.spout]
    /// name = "spout"
    /// clean = true
    /// [part.dome]
    /// name = "dome"
    /// clean = true
    /// [part.foot]
    /// name = "foot"
    /// clean = true
    /// [part.cap]
    /// name = "cap"
    /// === air/cap.md
    /// +++
    /// title = "Cap"
    /// machines = ["hand-pump"]
    /// +++
    /// Dust gathers in it.
    ///
    /// ## Do
    ///
    /// 1. [](remove:cap)
    /// 2. [](clean:cap)
    /// 3. [](fit:cap)
    /// ```
    ///
    /// ## Fix
    ///
    /// Add `clean = true` or `positions` to the part.
    "work-not-in-record", Rehearsal, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Clean, Verb::Note], check)];

/// The least number of parts with `clean = true`, and of parts with `positions`, that a machine must have.
const LEAST_CLEAN: usize = 4;
const LEAST_LINKAGES: usize = 2;

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    if part.note.is_some() {
        return;
    }
    let parts = || scene.machine.parts.values();
    let (done, field) = if scene.action.verb == Verb::Note {
        if part.is_linkage() || parts().filter(|part| part.is_linkage()).count() < LEAST_LINKAGES {
            return;
        }
        ("the position of", "`positions`")
    } else {
        let is_off = scene.before.part(part.id).place == PartPlace::Off;
        if !is_off || part.clean || !part.faces.is_empty() {
            return;
        }
        if parts().filter(|part| part.clean).count() < LEAST_CLEAN {
            return;
        }
        ("", "`clean = true`")
    };
    let (key, machine) = (&part.key, &scene.machine.id);
    let message = if done.is_empty() {
        format!(
            "`{key}` of `{machine}` is cleaned while it is off, but its record does not have {field}"
        )
    } else {
        format!("{done} `{key}` of `{machine}` is noted, but its record does not have {field}")
    };
    let mut finding = scene
        .finding(&RULE, message, "")
        .primary(part.span, "its record")
        .secondary(scene.action.span, "done here")
        .help(format!(
            "add {field} to the part, so that every job that takes it off has to do it"
        ));
    // One record is to blame in all jobs, or one action on all machines.
    finding.causes.push(Cause {
        thing: format!("record of {key}"),
        since: None,
        is_shared: true,
    });
    findings.push(finding);
}
