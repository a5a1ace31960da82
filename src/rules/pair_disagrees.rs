//! See [`RULE`].

use crate::finding::{Finding, Findings, rule};
use crate::procedure::Procedure;
use crate::quantity::find;
use crate::shop::Shop;
use crate::tree::Tree;

rule! {
    /// Two values typed for one thing don't agree within their own rounding.
    ///
    /// ## At the bench
    ///
    /// Whoever reads the second unit sets another torque than whoever reads the first.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// The old nuts took 9.8 N·m (8.7 ft·lbf).
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Mend
    ///
    /// Correct the one that is wrong; better, write the value once on the machine and let the leaf print both.
    "pair-disagrees", Quantities, Error => pub(super) RULE
}

pub(super) fn check(
    tree: &Tree,
    _shop: &Shop,
    _procedures: &[&Procedure],
    findings: &mut Findings,
) {
    for file in &tree.files {
        for found in find(&super::prose_of(file)) {
            let Some(paired) = found.paired.filter(|paired| !paired.agrees) else {
                continue;
            };
            let printed = found.limits.text_in(paired.limits.unit());
            let message = format!(
                "`{}` and `{}` are not the same",
                tree.text(file.span(found.range.clone())),
                tree.text(file.span(paired.range.clone()))
            );
            let finding = Finding::new(&RULE, message)
                .at(file.span(paired.range), "")
                .and(file.span(found.range), "typed beside it");
            findings.push(match printed {
                Some(printed) => finding.help(format!("the first is {printed}")),
                None => finding,
            });
        }
    }
}
