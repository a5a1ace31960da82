//! See [`RULE`].

use super::check::On;
use super::context::{Ending, author_words};
use crate::finding::{Findings, rule};
use crate::job::{JobSection, JobStep, Thing};
use crate::procedure::not_ready;
use crate::prose::{Verb, plain};

rule! {
    /// An item of an inspection does not say what to look for.
    ///
    /// The points below an item say it. The limits of what is measured say it, too, and so do `reuse`, `limits` and
    /// the wear limits of a part that is inspected. A step that only leads to an item, such as one that starts the
    /// engine, needs none.
    ///
    /// ## At the bench
    ///
    /// Everybody looks at the part, and nobody sees the crack.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/look.md
    /// +++
    /// title = "Pump: inspect"
    /// machines = ["hand-pump"]
    /// +++
    /// It is lent out in between.
    ///
    /// ## Before each use {.inspection}
    ///
    /// 1. The feet.
    ///    - All three are there.
    ///    - Not ready if: one is missing.
    /// 2. [](inspect:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write what to look for as a point below the item, and where it matters a point that begins with `Not ready if:`.
    "nothing-to-look-for", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for step in ending.inspections().flat_map(JobSection::steps) {
        let finding = |message: &str, help: &str| {
            ending
                .finding(&RULE, message, None, "")
                .primary(step.span, "")
                .help(help)
        };
        let words = author_words(ending.job.shop);
        let empty = step.notes.iter().filter_map(|note| not_ready(note, words));
        if empty.into_iter().any(|rest| plain(&rest).trim().is_empty()) {
            findings.push(finding(
                "a point says `Not ready if:`, and nothing after it",
                "write what keeps the machine from being used",
            ));
        } else if step.notes.is_empty() && is_item(step) && !has_criterion(step) {
            findings.push(finding(
                "an item of an inspection does not say what to look for",
                "write it as a point below the item: `   - Cracks, and loose bolts.`",
            ));
        }
    }
}

/// Whether a step looks at something, and does not only lead to what does.
fn is_item(step: &JobStep<'_>) -> bool {
    let mut actions = step.actions.iter();
    step.actions.is_empty()
        || actions.any(|action| matches!(action.verb, Verb::Inspect | Verb::Measure))
}

/// Whether the records of the machine say what is acceptable for everything that a step looks at.
fn has_criterion(step: &JobStep<'_>) -> bool {
    let judged = step
        .actions
        .iter()
        .filter_map(|action| match (action.verb, action.thing) {
            (Verb::Inspect, Thing::Part(part)) => Some(part.is_judged()),
            (Verb::Measure, Thing::Reading(reading)) => Some(reading.limits.is_some()),
            (Verb::Inspect | Verb::Measure, _) => Some(false),
            _ => None,
        });
    let judged: Vec<bool> = judged.collect();
    !judged.is_empty() && judged.into_iter().all(|is_judged| is_judged)
}
