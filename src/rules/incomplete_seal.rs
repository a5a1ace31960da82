//! See [`RULE`].

use super::check::On;
use super::shared::{is_usual, parts};
use crate::finding::{Finding, Findings, rule};
use crate::shop::{Part, Shop};

rule! {
    /// A seal lacks a field that most seals of the shop have.
    ///
    /// A seal is a part with `seals`, or with `faces` and without `held-by`. It is expected to have `single-use` or
    /// `reuse`. With `seals` it is also expected to have `faces`, and with `single-use` and `faces` also `seals`. A field
    /// is expected if at least four seals of the shop have it, and at least four in five. `seals` is not expected of a
    /// part with a `note`, such as a shaft seal, which closes no joint.
    ///
    /// ## At the bench
    ///
    /// Nothing says whether the gasket may be used again, or which surfaces are scraped clean before a new one goes on.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [part.lid-gasket]
    /// name = "lid gasket"
    /// single-use = true
    /// faces = ["lid"]
    /// [part.cap-gasket]
    /// name = "cap gasket"
    /// single-use = true
    /// faces = ["cap"]
    /// [part.foot-gasket]
    /// name = "foot gasket"
    /// single-use = true
    /// faces = ["foot"]
    /// [part.spout-gasket]
    /// name = "spout gasket"
    /// faces = ["spout"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Add the field. A seal that may be used again has `reuse`: `"soft and whole"`.
    "incomplete-seal", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

/// A field of a seal: its name, whether a seal is expected to have it, and whether it has.
type Field = (&'static str, fn(&Part) -> bool, fn(&Part) -> bool);

const FIELDS: [Field; 3] = [
    (
        "`single-use` or `reuse`",
        |part| !part.seals.is_empty() || (!part.faces.is_empty() && part.held_by.is_empty()),
        |part| part.single_use || part.is_judged(),
    ),
    (
        "`seals`",
        |part| part.single_use && !part.faces.is_empty() && part.note.is_none(),
        |part| !part.seals.is_empty(),
    ),
    (
        "`faces`",
        |part| !part.seals.is_empty(),
        |part| !part.faces.is_empty(),
    ),
];

fn check(shop: &Shop, findings: &mut Findings) {
    let usual = FIELDS.iter().filter(|(_, is_asked, is_given)| {
        let asked: Vec<&Part> = parts(shop)
            .map(|(_, part)| part)
            .filter(|part| is_asked(part))
            .collect();
        is_usual(
            asked.iter().filter(|part| is_given(part)).count(),
            asked.len(),
        )
    });
    let usual: Vec<&Field> = usual.collect();
    for (machine, part) in parts(shop) {
        let lacking = usual
            .iter()
            .filter(|(_, is_asked, is_given)| is_asked(part) && !is_given(part));
        let lacking: Vec<&str> = lacking.map(|(field, ..)| *field).collect();
        if lacking.is_empty() {
            continue;
        }
        let message = format!(
            "the seal `{}` of `{}` has no {}, as most seals of the shop have",
            part.key,
            machine.id,
            lacking.join(" and no ")
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(part.span, "")
                .help("add it"),
        );
    }
}
