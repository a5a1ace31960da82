//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};

rule! {
    /// A value is given in two units, and the two are not equal within their rounding.
    ///
    /// ## At the bench
    ///
    /// Two mechanics set two different torques, depending on which unit they read.
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
    /// ## Fix
    ///
    /// Correct the wrong one. Better, enter the value once on the machine: the sheet prints both units.
    "values-disagree", Quantities, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let (tree, file) = (scene.tree, scene.file);
    for found in &scene.found {
        let Some(paired) = found.paired.as_ref().filter(|paired| !paired.agrees) else {
            continue;
        };
        let printed = found.limits.text_in(paired.limits.unit());
        let (first, second) = (
            file.span(found.range.clone()),
            file.span(paired.range.clone()),
        );
        let message = format!(
            "`{}` and `{}` are not equal",
            tree.text(first),
            tree.text(second)
        );
        let finding = Finding::new(&RULE, message)
            .primary(second, "")
            .secondary(first, "first value");
        findings.push(match printed {
            Some(printed) => finding.help(format!("the first value is {printed}")),
            None => finding,
        });
    }
}
