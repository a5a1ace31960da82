//! See [`RULE`].

use super::check::On;
use super::context::{TextScene, legend_of};
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Callout, Legend};

rule! {
    /// Two parts have the same number in a figure.
    ///
    /// Parts that no machine has both may share a number.
    ///
    /// ## At the bench
    ///
    /// "Nut (3)" is one of two, and the other one is renewed.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/pump.svg
    /// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30"><path id="cover" d="M5 5h30v20h-30z"/>
    /// <path id="nut" d="M18 2h4v3h-4z"/></svg>
    /// === figures/pump.toml
    /// title = "Hand pump"
    /// machines = ["hand-pump"]
    /// [callout.cover]
    /// number = 1
    /// place = "cover"
    /// [callout.cover-nut]
    /// number = 1
    /// place = "nut"
    /// ```
    ///
    /// ## Fix
    ///
    /// Give each its own number.
    "callout-number-used-twice", Names, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(legend) = legend_of(scene) else {
        return;
    };
    for (index, callout) in legend.callouts.iter().enumerate() {
        let Some(number) = &callout.number else {
            continue;
        };
        let mut before = legend.callouts[..index].iter();
        let other = before.find_map(|other| {
            let of_other = other.number.as_ref()?;
            let is_shared =
                of_other.value == number.value && are_on_one_machine(legend, callout, other);
            is_shared.then_some(of_other.span)
        });
        if let Some(other) = other {
            let message = format!(
                "number {} is used twice in figure `{}`",
                number.value, legend.key
            );
            findings.push(
                Finding::new(&RULE, message)
                    .primary(number.span, "")
                    .secondary(other, "used here before")
                    .help("give each part its own number"),
            );
        }
    }
}

/// Whether some machine has both callouts.
fn are_on_one_machine(legend: &Legend, left: &Callout, right: &Callout) -> bool {
    let mut machines = legend.machines.iter();
    machines.any(|machine| {
        let has = |wanted: &Callout| {
            legend
                .callouts_for(machine.value)
                .any(|callout| callout.key == wanted.key)
        };
        has(left) && has(right)
    })
}
