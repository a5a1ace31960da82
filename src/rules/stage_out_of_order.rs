//! See [`RULE`].

use super::check::On;
use crate::finding::{Findings, Place, rule};
use crate::prose::Verb;
use crate::rehearsal::{PartPlace, Scene};
use crate::shop::Part;

rule! {
    /// A fastener is tightened to a stage before the stage below it, or to the same stage twice.
    ///
    /// The last stage may be repeated: a joint that has settled is gone over once more.
    ///
    /// ## At the bench
    ///
    /// A cylinder head that is tightened in one go warps, and its gasket blows.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.head-bolt]
    /// name = "head bolt"
    /// count = 4
    /// thread = "M6"
    /// drive = "hex 10 mm"
    /// stages = ["5 N·m", "8 N·m ± 1 N·m"]
    /// === air/head.md
    /// +++
    /// title = "Head"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when it is slack.
    ///
    /// ## Do
    ///
    /// 1. [](slacken:head-bolt)
    /// 2. [](tighten:head-bolt/2)
    /// ```
    ///
    /// ## Fix
    ///
    /// Tighten all fasteners to each stage in turn: `tighten:head-bolt/1`, then `tighten:head-bolt/2`.
    /// `tighten:` without a stage covers all stages.
    "stage-out-of-order", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Part(&[Verb::Tighten], check)];

fn check(scene: &Scene<'_, '_>, part: &Part, findings: &mut Findings) {
    let Some(stage) = scene.action.stage else {
        return;
    };
    let before = scene.before.part(part.id);
    // `part-already-removed` reports a fastener that is off. A fastener that was found tight can be
    // tightened to any stage.
    let is_loose = before.place == PartPlace::Loose;
    let is_full = before.place == PartPlace::On && before.since.is_some();
    // Going over a joint once more after it has settled.
    let is_again = is_full && stage == part.stages.len();
    if !(is_loose || is_full) || stage == before.stage + 1 || is_again {
        return;
    }
    let id = &part.key;
    let message = if is_full {
        format!("`{id}` is tightened to stage {stage} but is already tight")
    } else if before.stage == 0 {
        format!("`{id}` is tightened to stage {stage} before the stages below it")
    } else {
        format!(
            "`{id}` is tightened to stage {stage} but is at stage {}",
            before.stage
        )
    };
    let label = if before.stage == 0 {
        "loose from here on"
    } else {
        "last tightened here"
    };
    let next = before.stage + 1;
    let help = if is_full || stage < next {
        format!("add `[](slacken:{id})` before the first of its stages, and tighten them in order")
    } else {
        format!("add `[](tighten:{id}/{next})` before this step")
    };
    let missing = stage.saturating_sub(next);
    let stages = (0..missing).map(|index| format!("tighten:{id}/{}", next + index));
    let finding = scene
        .finding(&RULE, message, "")
        .help(help)
        .propose(Place::Before, stages.filter(|_| !is_full));
    findings.push(finding.since(before.since, label));
}
