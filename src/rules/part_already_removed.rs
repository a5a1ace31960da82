//! See [`RULE`].

use super::advice::{actions_of_closing, refit};
use super::check::On;
use super::context::Blamed;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A part is removed, slackened, tightened, turned or noted although it is already off.
    ///
    /// ## At the bench
    ///
    /// The step can't be done. It stops the job, or teaches people to skip steps.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Clean
    ///
    /// 1. [](remove:cover-nut)
    /// 2. [](remove:cover)
    /// 3. [](remove:cover)
    /// 4. [](fit:cover)
    /// 5. [](fit:cover-nut)
    /// 6. [](tighten:cover-nut)
    /// ```
    ///
    /// ## Fix
    ///
    /// Delete the repeated step, or fit the part before it.
    "part-already-removed", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(
    &[
        Verb::Remove,
        Verb::Slacken,
        Verb::Tighten,
        Verb::Turn,
        Verb::Note,
    ],
    check,
)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let before = scene.before.part(part.id);
    if before.place != PartPlace::Off {
        return;
    }
    // `position-not-noted` reports a linkage that was removed before it was noted.
    if scene.action.verb == Verb::Note && part.is_linkage() && part.position.is_none() {
        return;
    }
    let (id, verb) = (&part.key, scene.action.verb.word());
    let message = format!("`{verb}:{id}` is done while `{id}` is off");
    findings.push(
        scene
            .finding(&RULE, message, "done here")
            .help(match scene.action.verb {
                Verb::Remove => format!(
                    "delete this step, or write {} where it was put back in between",
                    refit(part)
                ),
                Verb::Note => format!("move this step above the one that removes `{id}`"),
                Verb::Slacken => format!(
                    "slacken it before it is removed, or write {} first",
                    refit(part)
                ),
                _ => format!("add {} before this step", refit(part)),
            })
            .propose(
                Place::Back,
                match scene.action.verb {
                    Verb::Tighten | Verb::Turn => {
                        actions_of_closing(scene.before, scene.machine, part)
                    }
                    _ => Vec::new(),
                },
            )
            .blame(Blamed::Part(id), before.since, "removed here"),
    );
}
