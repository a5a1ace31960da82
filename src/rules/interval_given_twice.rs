//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};

rule! {
    /// A procedure gives its interval in two places.
    ///
    /// Two of its inspections have the same interval, or it has both an `interval` and inspections.
    ///
    /// ## At the bench
    ///
    /// Whoever works through the first list of an interval does not look for another one.
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
    ///    - Not ready if: it is cracked.
    ///
    /// ## Before use {.inspection}
    ///
    /// 1. The feet.
    ///    - All three are there.
    ///    - Not ready if: one is missing.
    /// ```
    ///
    /// ## Fix
    ///
    /// Move the items below one heading. Leave `interval` out of the front matter of inspections: each heading is the
    /// interval of its items.
    "interval-given-twice", Names, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let Some(procedure) = scene.procedure else {
        return;
    };
    let words = scene.author_words();
    let mut known = Vec::new();
    for section in procedure.inspections() {
        let Ok(interval) = words.read_interval(&section.title) else {
            continue;
        };
        let same = known.iter().find(|(other, _)| *other == interval);
        if let Some((_, first)) = same {
            let message = format!("`{}` is the interval of two inspections", section.title);
            findings.push(
                Finding::new(&RULE, message)
                    .primary(section.span, "")
                    .secondary(*first, "the other inspection")
                    .help("move the items of both below one heading"),
            );
            continue;
        }
        known.push((interval, section.span));
    }
    if let (Some(interval), Some(section)) = (&procedure.interval, procedure.inspections().next()) {
        findings.push(
            Finding::new(
                &RULE,
                "`interval` is given, and inspections have intervals of their own",
            )
            .primary(interval.span, "")
            .secondary(section.span, "the interval of these items")
            .help("leave `interval` out; the heading of an inspection is its interval"),
        );
    }
}
