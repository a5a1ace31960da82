//! See [`RULE`].

use super::check::On;
use super::context::{Blamed, Ending};
use crate::finding::{Findings, Place, rule};
use crate::rehearsal::PartPlace;

rule! {
    /// A fastener was slackened, or started by hand, and is still loose when the job ends.
    ///
    /// ## At the bench
    ///
    /// It shakes out on the first afternoon.
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
    /// 1. [](slacken:cover-nut)
    /// 2. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Tighten it once the parts it holds are in place.
    "fastener-left-loose", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for (part, state) in ending.end.parts() {
        let id = &part.key;
        if state.place != PartPlace::Loose || ending.job.is_left(part.id) {
            continue;
        }
        let message = format!("`{id}` is still loose when the job ends");
        let mut finding = ending
            .finding(&RULE, message, state.since, "loose from here on")
            .because_of(Blamed::Part(id), state.since)
            .help(format!(
                "add `[](tighten:{id})` once what it holds is in place"
            ))
            .propose(Place::Late, [format!("tighten:{id}")]);
        if let Some(stage) = part.stages.last() {
            finding = finding.secondary(stage.spec.span, "its torque");
        }
        findings.push(finding);
    }
}
