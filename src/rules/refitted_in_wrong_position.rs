//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::Scene;
use crate::shop::Part;

rule! {
    /// A linkage is refitted in a position other than its own.
    ///
    /// Its own position is the one in the machine's file, or the one that was noted before it was removed. A step
    /// that names a position after `note:` is reported, because the noted position may be another.
    ///
    /// If a job moves the linkage intentionally, end the step with `{waive="refitted-in-wrong-position:
    /// why"}`; the reason is printed.
    ///
    /// ## At the bench
    ///
    /// With the governor rod in the wrong hole, the engine overspeeds.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lever]
    /// name = "lever"
    /// positions = ["inner hole", "outer hole"]
    /// position = "inner hole"
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Do
    ///
    /// 1. [](remove:lever)
    /// 2. [](fit:lever/outer-hole)
    /// ```
    ///
    /// ## Fix
    ///
    /// Fit it in its own position: `fit:lever`, or `fit:lever/inner-hole`. After `note:lever`, write `fit:lever`: the
    /// sheet refers to the step that notes the position.
    "refitted-in-wrong-position", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Fit, Verb::Renew], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let Some(position) = scene.action.position else {
        return;
    };
    let key = &part.key;
    let finding = match (&part.position, scene.before.part(part.id).noted) {
        (Some(known), _) if known.value != position => {
            let message = format!(
                "`{key}` is fitted in the {position}, but its position is the {}",
                known.value
            );
            scene
                .finding(&RULE, message, "fitted here")
                .secondary(known.span, "its position")
                .help(format!(
                    "write `{0}:{key}/{1}`, or `{0}:{key}`: the sheet prints the position",
                    scene.action.verb.word(),
                    known.value.to_lowercase().replace(' ', "-"),
                ))
                .propose(
                    Place::Instead,
                    [format!("{}:{key}", scene.action.verb.word())],
                )
        }
        (None, Some(noted)) => {
            let message =
                format!("`{key}` is fitted in the {position}, but it goes back where it was noted");
            scene
                .finding(&RULE, message, "fitted here")
                .secondary(noted.span, "noted here")
                .help(format!(
                    "write `{}:{key}`; if it goes elsewhere on purpose, waive this rule with the reason",
                    scene.action.verb.word()
                ))
        }
        _ => return,
    };
    findings.push(finding);
}
