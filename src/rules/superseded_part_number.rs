//! See [`RULE`].

use super::check::On;
use crate::finding::{Finding, Findings, Span, rule};
use crate::shop::Shop;
use std::collections::BTreeMap;

rule! {
    /// A part has a part number that another part's number replaces.
    ///
    /// ## At the bench
    ///
    /// The parts counter orders the old number, which is no longer made.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.strap]
    /// name = "strap"
    /// number = "RUS-40"
    /// supersedes = ["RUS-31"]
    /// === machines/rail-pump.toml
    /// name = "Tarn Rail hand pump"
    /// [part.strap]
    /// name = "strap"
    /// number = "RUS-31"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the new number as `number`, and the old one in `supersedes`.
    "superseded-part-number", Names, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    // Each old number, with the new one.
    let mut replaced: BTreeMap<&str, (&str, Span)> = BTreeMap::new();
    for part in shop
        .machines
        .values()
        .flat_map(|machine| machine.parts.values())
    {
        let Some(number) = &part.number else {
            continue;
        };
        for old in &part.supersedes {
            replaced
                .entry(&old.value)
                .or_insert((number.as_str(), old.span));
        }
    }
    if replaced.is_empty() {
        return;
    }
    for machine in shop.machines.values() {
        for part in machine.parts.values() {
            let number = part.number.as_deref().unwrap_or_default();
            let Some((new, span)) = replaced.get(number) else {
                continue;
            };
            let message = format!(
                "part `{}` has the number {number}, which {new} replaces",
                part.key
            );
            let finding = Finding::new(&RULE, message)
                .primary(part.span, "")
                .secondary(*span, "replaced here");
            findings.push(finding.help(format!(
                "write `number = \"{new}\"` and `supersedes = [\"{number}\"]`"
            )));
        }
    }
}
