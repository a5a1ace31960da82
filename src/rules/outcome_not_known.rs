//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Finding, Findings, Place, rule};
use crate::job::{Action, JobStep, Thing, When};
use crate::prose::Verb;

rule! {
    /// A step depends on an outcome that no step before it finds out.
    ///
    /// So does a repetition, until an outcome that none of its steps finds out.
    ///
    /// ## At the bench
    ///
    /// Nobody can say whether the step is to be done, or when to stop.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.lift]
    /// name = "lift of the rod"
    /// limits = "40 mm to 44 mm"
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover) {if="lift.over"}
    /// 2. [](measure:lift)
    /// ```
    ///
    /// ## Fix
    ///
    /// Measure the reading, or inspect the part, in a step before the one that depends on it. Of steps that are repeated, one
    /// measures it.
    "outcome-not-known", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Stop(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    let job = ending.job;
    let mut before: Vec<&JobStep<'_>> = job.earlier_steps().collect();
    let first = before.len();
    before.extend(job.steps());
    for (index, step) in before.iter().enumerate().skip(first) {
        if let Some(when) = step.when.filter(|when| !is_found(*when, &before[..index])) {
            findings.push(finding(
                ending,
                step,
                when,
                "before this step",
                format!(
                    "whether this step is done depends on {}, which no step before it finds out",
                    named(when)
                ),
            ));
        }
        let Some(repeat) = step.repeat else { continue };
        let is_first = |first: &&JobStep<'_>| {
            first.id == Some(repeat.back_to) && first.origin.file == step.origin.file
        };
        let Some(start) = before[..=index].iter().rposition(is_first) else {
            continue;
        };
        if !is_found(repeat.until, &before[start..=index]) {
            findings.push(finding(
                ending,
                step,
                repeat.until,
                "among the steps that are repeated",
                format!(
                    "steps are repeated until {}, which none of them finds out",
                    named(repeat.until)
                ),
            ));
        }
    }
}

fn named(when: When<'_>) -> String {
    format!("`{}`", when.written())
}

fn finding(
    ending: &Ending<'_, '_>,
    step: &JobStep<'_>,
    when: When<'_>,
    place: &str,
    message: String,
) -> Finding {
    let verb = match when.thing {
        Thing::Part(_) => Verb::Inspect,
        _ => Verb::Measure,
    };
    let action = format!("{}:{}", verb.word(), when.thing.key());
    ending
        .finding(&RULE, message, None, "")
        .primary(step.span, "depends on it here")
        .help(format!("add `[]({action})` {place}"))
        .propose(Place::Before, [action])
}

/// Whether any of some steps finds out what an outcome is of.
fn is_found(when: When<'_>, steps: &[&JobStep<'_>]) -> bool {
    let finds = |action: &Action<'_>| match (action.verb, action.thing, when.thing) {
        (Verb::Inspect, Thing::Part(part), Thing::Part(of)) => part.id == of.id,
        // All dimensions of an inspected part are measured.
        (Verb::Inspect, Thing::Part(part), Thing::Reading(of)) => {
            part.dimension_readings.contains(&of.id)
        }
        (Verb::Measure, Thing::Reading(reading), Thing::Part(of)) => {
            of.is_judged_by_dimensions() && of.dimension_readings.contains(&reading.id)
        }
        (Verb::Measure, Thing::Reading(reading), Thing::Reading(of)) => reading.id == of.id,
        _ => false,
    };
    steps.iter().any(|step| step.all_actions().any(finds))
}
