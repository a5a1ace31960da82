//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, rule};
use crate::job::{JobStep, Thing};
use crate::procedure::Found;
use crate::prose::Verb;

rule! {
    /// A step does the opposite of what was found.
    ///
    /// It renews a part if that part is used again, or steps are repeated until a reading is out of its limits or a part has
    /// to be renewed.
    ///
    /// ## At the bench
    ///
    /// The sound part is thrown away and the worn one goes back, or what was right is adjusted until it is wrong.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.strainer]
    /// name = "strainer"
    /// reuse = "whole, with no tear"
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](remove:strainer)
    /// 2. [](inspect:strainer)
    /// 3. [](renew:strainer) {if="strainer.reuse"}
    /// 4. [](fit:strainer) {if="strainer.renew"}
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the other outcome.
    "contrary-to-outcome", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Stop(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for step in ending.job.steps() {
        let Some((message, label)) = fault(step) else {
            continue;
        };
        findings.push(
            ending
                .finding(&RULE, message, None, "")
                .primary(step.span, label)
                .help("name the other outcome"),
        );
    }
}

/// What is contrary in a step: the message and the label of its span.
fn fault(step: &JobStep<'_>) -> Option<(String, &'static str)> {
    if let Some(repeat) = step.repeat
        && !Found::GOOD
            .iter()
            .any(|good| repeat.until.outcome.has(*good))
    {
        let until = repeat.until.written();
        let message = format!("steps are repeated until `{until}`, which is never right");
        return Some((message, "they end here"));
    }
    let when = step.when?;
    let Thing::Part(found) = when.thing else {
        return None;
    };
    let is_renewed = step.all_actions().any(|action| {
        action.verb == Verb::Renew
            && matches!(action.thing, Thing::Part(part) if part.id == found.id)
    });
    (is_renewed && !when.outcome.has(Found::Renew)).then(|| {
        let message = format!("`{}` is renewed if it is used again", found.key);
        (message, "renewed here")
    })
}
