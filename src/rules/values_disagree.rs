//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, Level, rule};
use crate::quantity::Agreement;

rule! {
    /// A value is given in two units, and the two are not equal.
    ///
    /// Each may be rounded as makers round: by half of its last digit, or by two and a half where it ends
    /// in 0 or 5, but by no more than 5 %. Beyond that, a difference of more than 2 % is a warning. A
    /// difference of more than 4 %, or limits that exclude each other, are an error.
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
        let apart = found.paired.iter();
        for paired in apart.filter(|paired| paired.agreement != Agreement::Equal) {
            let is_contradiction = paired.agreement == Agreement::Contradicting;
            if is_contradiction && scene.field_error(found.range.start).is_some() {
                continue;
            }
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
            let mut finding = Finding::new(&RULE, message)
                .primary(second, "")
                .secondary(first, "first value");
            if !is_contradiction {
                finding.level = Level::Warning;
            }
            findings.push(match printed {
                Some(printed) => finding.help(format!("the first value is {printed}")),
                None => finding,
            });
        }
    }
}
