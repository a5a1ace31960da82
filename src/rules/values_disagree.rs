//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, Level, rule};
use crate::quantity::{Agreement, Found, Limits};

rule! {
    /// A value is given in two units, and the two are not equal.
    ///
    /// Each may be rounded as makers round: by half of its last digit, or by two and a half where it ends
    /// in 0 or 5, but by no more than 5 %. Beyond that, a difference of more than 2 % is a warning. A
    /// difference of more than 4 %, or limits that exclude each other, are an error. In a field, limits that
    /// only the second value has are a warning.
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
        if let Some(finding) = without_limits(scene, found) {
            findings.push(finding);
        }
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
                Some(printed) => finding.help(format!(
                    "correct the one that is wrong: the first value is {printed}"
                )),
                None => finding.help("correct the value that is wrong"),
            });
        }
    }
}

/// A field whose first value has no limits although the value in the other unit has: the machine's value would lack
/// them.
fn without_limits(scene: &TextScene<'_>, found: &Found) -> Option<Finding> {
    if scene.procedure.is_some() {
        return None;
    }
    let is_bounded = |limits: &Limits| limits.lower().is_some() || limits.upper().is_some();
    let paired = found
        .paired
        .iter()
        .find(|paired| is_bounded(&paired.limits))?;
    if is_bounded(&found.limits) {
        return None;
    }
    let span = scene.file.span(found.range.clone());
    let message = format!(
        "`{}` has no limits, and the value in the other unit has",
        scene.tree.text(span)
    );
    let mut finding = Finding::new(&RULE, message)
        .primary(span, "")
        .secondary(scene.file.span(paired.range.clone()), "has limits");
    finding.level = Level::Warning;
    Some(finding.help("give the first value its limits: it is the one that counts"))
}
