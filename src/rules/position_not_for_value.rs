//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// A linkage is attached where another value of its reading would put it, or no position is for the value.
    ///
    /// A position is for a value if its range in `position-for` has all of the reading's limits.
    ///
    /// ## At the bench
    ///
    /// A governor spring in the hole for another speed can't be adjusted to the speed that is wanted.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.rate]
    /// name = "rate"
    /// limits = "40 rpm to 44 rpm"
    /// [part.spring]
    /// name = "spring"
    /// positions = ["hole A", "hole B"]
    /// position = "hole A"
    /// position-by = "rate"
    /// [part.spring.position-for]
    /// "hole A" = "20 rpm to 35 rpm"
    /// "hole B" = "35 rpm to 50 rpm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the position, or leave it out: it follows from the limits of the reading. If no position is for them, or
    /// several are, correct the ranges.
    "position-not-for-value", Trade, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let reading = part
            .position_by
            .as_ref()
            .filter(|_| !part.position_for.is_empty());
        let Some(reading) = reading.map(|id| &machine.readings[id.value]) else {
            continue;
        };
        let Some(limits) = &reading.limits else {
            continue;
        };
        let wanted = limits.spec.value.limits();
        let fitting = part.positions_for(wanted);
        let is_right = match &part.position {
            Some(position) => fitting.iter().any(|fits| fits.value == position.value),
            None => fitting.len() == 1,
        };
        if is_right {
            continue;
        }
        let (id, of) = (&part.key, &machine.id);
        let value = format!("{} of `{}`", wanted.text(), reading.key);
        let names: Vec<String> = fitting
            .iter()
            .map(|fits| format!("`{}`", fits.value))
            .collect();
        let (message, span) = match (&part.position, names.as_slice()) {
            (Some(position), _) => (
                format!(
                    "`{id}` of `{of}` is attached at `{}`, which is not for {value}",
                    position.value
                ),
                position.span,
            ),
            (None, []) => (
                format!("no position of `{id}` of `{of}` is for {value}"),
                part.span,
            ),
            (None, names) => (
                format!(
                    "several positions of `{id}` of `{of}` are for {value}: {}",
                    names.join(", ")
                ),
                part.span,
            ),
        };
        let help = match names.as_slice() {
            [only] => format!("{only} is for it: write that, or leave `position` out"),
            _ => "correct the ranges in `position-for`, so that one of them has all of the limits"
                .to_owned(),
        };
        findings.push(
            Finding::new(&RULE, message)
                .primary(span, "")
                .secondary(limits.spec.span, "the value that is wanted")
                .help(help),
        );
    }
}
