//! See [`RULE`].

use super::check::On;
use super::shared::parts;
use crate::finding::{Finding, Findings, rule};
use crate::shop::Shop;

rule! {
    /// A rotating part has only some of the fields with which the speed of its tip is compared.
    ///
    /// These are `diameter`, `turns-with` and `tip-speed`. A part with only a `diameter` is not reported: it may be any
    /// round part.
    ///
    /// ## At the bench
    ///
    /// The limit of a blade is in the file, and nothing shows that the governed speed exceeds it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.wheel]
    /// name = "wheel"
    /// diameter = "300 mm"
    /// tip-speed = "at most 60 m/s"
    /// ```
    ///
    /// ## Fix
    ///
    /// Add the field that is missing.
    "tip-speed-not-compared", Names, Advice => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Shop(check)];

fn check(shop: &Shop, findings: &mut Findings) {
    for (machine, part) in parts(shop) {
        let fields = [
            ("`turns-with`", part.turns_with.is_some()),
            ("`tip-speed`", part.tip_speed.is_some()),
            ("`diameter`", part.diameter.is_some()),
        ];
        let is_rotating = fields[0].1 || fields[1].1;
        let lacking = fields.iter().filter(|(_, is_given)| !is_given);
        let lacking: Vec<&str> = lacking.map(|(field, _)| *field).collect();
        if !is_rotating || lacking.is_empty() {
            continue;
        }
        let message = format!(
            "the speed of the tip of `{}` of `{}` can not be compared without {}",
            part.key,
            machine.id,
            lacking.join(" and ")
        );
        findings.push(
            Finding::new(&RULE, message)
                .primary(part.span, "")
                .help("add what is missing, or remove the others"),
        );
    }
}
