//! See [`RULE`].

use crate::dry_run::{PartPlace, Scene};
use crate::finding::{Finding, Findings, rule};
use crate::job::Thing;
use crate::prose::Verb;

rule! {
    /// A part is taken off, slackened, tightened or has its place noted while it is off.
    ///
    /// ## At the bench
    ///
    /// A step that can't be done stops the job, or teaches people to skip steps.
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
    /// ## Mend
    ///
    /// Take out the step that comes too often, or put the part on before it.
    "part-not-on", DryRun, Error => pub(super) RULE
}

pub(super) fn check(scene: &Scene<'_, '_>, findings: &mut Findings) {
    let Thing::Part(part) = scene.act.thing else {
        return;
    };
    let needs_on = matches!(
        scene.act.verb,
        Verb::Remove | Verb::Slacken | Verb::Tighten | Verb::Note
    );
    let before = scene.before.of(part);
    if !needs_on || before.place != PartPlace::Off {
        return;
    }
    // That a linkage came off before it was noted was said where it came off.
    if scene.act.verb == Verb::Note && part.is_linkage() && part.seat.is_none() {
        return;
    }
    let (id, verb) = (&part.id, scene.act.verb.word());
    let message = format!("`{verb}:{id}` comes while `{id}` is off");
    let finding = Finding::new(&RULE, message)
        .in_job(scene.job.to_string())
        .at(scene.at.span, "it is off here");
    findings.push(super::since(finding, before.since, "taken off here"));
}
