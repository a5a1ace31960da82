//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};

/// The mark of a gap in a text. What follows it says what is missing.
pub(crate) const GAP_MARK: &str = "MISSING:";

rule! {
    /// A text that is printed has a gap, which `MISSING:` marks.
    ///
    /// `benchleaf outline` writes the mark where the shop's records do not say what a sheet needs. An author can write
    /// it as well, where something has still to be asked or measured. Comments in TOML are not printed, so they are
    /// not searched.
    ///
    /// ## At the bench
    ///
    /// The sheet looks complete, and the mechanic guesses what is missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// +++
    /// It leaks when worn.
    ///
    /// ## Do
    ///
    /// 1. Look at the plate. MISSING: how deep a groove may be.
    /// ```
    ///
    /// ## Fix
    ///
    /// Write what is missing, and remove the mark.
    "gap-not-filled", Printing, Warning => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    let file = scene.file;
    if !file.text.contains(GAP_MARK) {
        return;
    }
    // The front matter of a procedure is TOML, and its text is not.
    let body = scene.procedure.map(|procedure| procedure.body);
    for (at, _) in file.text.match_indices(GAP_MARK) {
        let start = file.text[..at].rfind('\n').map_or(0, |end| end + 1);
        let line = file.text[start..].lines().next().unwrap_or_default();
        let is_text = body.is_some_and(|body| body.start() <= at);
        if !is_text && line.trim_start().starts_with('#') {
            continue;
        }
        let before = line[..at - start].chars().next_back();
        if before.is_some_and(char::is_alphanumeric) {
            continue;
        }
        findings.push(
            Finding::new(&RULE, "a text still has a gap")
                .primary(file.span(at..start + line.trim_end().len()), "")
                .help(format!("write what is missing, and remove `{GAP_MARK}`")),
        );
    }
}
