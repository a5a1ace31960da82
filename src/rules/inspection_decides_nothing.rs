//! See [`RULE`].

use super::check::On;
use super::context::{Ending, author_words};
use crate::finding::{Findings, rule};
use crate::job::Thing;
use crate::procedure::not_ready;
use crate::prose::Verb;
use crate::words::{Due, Occasion};

rule! {
    /// An inspection before use does not say of anything when the machine is not ready.
    ///
    /// A point that begins with `Not ready if:` says it, and so do the limits of what is measured.
    ///
    /// ## At the bench
    ///
    /// A fault is noticed and noted, and the machine goes out with it, because the list does not say that it must stay.
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
    /// 1. The lever.
    ///    - Cracks.
    /// ```
    ///
    /// ## Fix
    ///
    /// Add the point `Not ready if:` to each item with a fault that keeps the machine from being used.
    "inspection-decides-nothing", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Ending(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    let words = author_words(ending.job.shop);
    for section in ending.inspections() {
        let interval = words.read_interval(section.title);
        let is_before_use = interval.is_ok_and(|interval| {
            let mut every = interval.every.iter();
            every.any(|due| matches!(due, Due::Use(Occasion::Before | Occasion::Day)))
        });
        let decides = section.steps().any(|step| {
            let measures = step
                .actions
                .iter()
                .any(|action| match (action.verb, action.thing) {
                    (Verb::Measure, Thing::Reading(reading)) => reading.limits.is_some(),
                    (Verb::Inspect, Thing::Part(part)) => part.limits.is_some(),
                    _ => false,
                });
            measures
                || step
                    .notes
                    .iter()
                    .any(|note| not_ready(note, words).is_some())
        });
        let headings = ending.job.procedure.inspections();
        let mut headings = headings.filter(|heading| heading.title == section.title);
        // Another part of an inspection that a step interrupts may decide.
        if !is_before_use || decides || section.is_continued || section.steps().next().is_none() {
            continue;
        }
        let finding = ending.finding(
            &RULE,
            "an inspection before use does not say when the machine is not ready",
            None,
            "",
        );
        let finding = match headings.next() {
            Some(heading) => finding.primary(heading.span, ""),
            None => finding,
        };
        findings.push(finding.help(
            "add a point to the items that decide it: `   - Not ready if: a crack is longer than a thumbnail.`",
        ));
    }
}
