//! See [`RULE`].

use super::check::On;
use super::context::Ending;
use crate::finding::{Findings, rule};
use crate::job::{Thing, When};
use crate::procedure::Found;

rule! {
    /// A step depends on an outcome that can't occur.
    ///
    /// A reading without an upper limit can't be over it, and a part that is renewed whenever it is off is never used again.
    ///
    /// ## At the bench
    ///
    /// The step would never be done.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.pressure]
    /// name = "pressure"
    /// limits = "at least 2 bar"
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](measure:pressure)
    /// 2. [](clean:cover) {if="pressure.over"}
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the outcome that is meant, or give the reading the limit. Whether a part is renewed is decided by its `reuse`,
    /// its `limits` or its dimensions.
    "outcome-impossible", Rehearsal, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Stop(check)];

fn check(ending: &Ending<'_, '_>, findings: &mut Findings) {
    for step in ending.job.steps() {
        let until = step.repeat.map(|repeat| repeat.until);
        for when in step.when.into_iter().chain(until) {
            let Some((why, help)) = fault(when) else {
                continue;
            };
            let message = format!("`{}` can't occur: {why}", when.written());
            findings.push(
                ending
                    .finding(&RULE, message, None, "")
                    .primary(step.span, "depends on it here")
                    .help(help),
            );
        }
    }
}

/// Why an outcome can't occur, and what to do about it. `None` if it can.
fn fault(when: When<'_>) -> Option<(String, &'static str)> {
    match when.thing {
        Thing::Part(part) => {
            let key = &part.key;
            let judged = "give the part `reuse`, `limits` or dimensions";
            if part.single_use {
                let help = "a part that is renewed whenever it is off needs no mark";
                let is_reuse = when.outcome.has(Found::Reuse);
                return is_reuse.then(|| (format!("`{key}` is never used again"), help));
            }
            (!part.is_judged()).then(|| {
                (
                    format!("nothing says when `{key}` may be used again"),
                    judged,
                )
            })
        }
        Thing::Reading(reading) => {
            let limits = reading.limits.as_ref()?.spec.value.limits();
            let can = |found: Found| match found {
                Found::Over => limits.upper().is_some(),
                Found::Under => limits.lower().is_some(),
                _ => true,
            };
            let is_possible = when.outcome.each().any(can);
            let side = if when.outcome.has(Found::Over) {
                "upper"
            } else {
                "lower"
            };
            let help =
                "name the other outcome, or give the reading the limit that it has no value for";
            (!is_possible).then(|| (format!("`{}` has no {side} limit", reading.key), help))
        }
        _ => None,
    }
}
