//! See [`RULE`].

use super::check::On;
use super::context::TextScene;
use crate::finding::{Finding, Findings, rule};

rule! {
    /// A value in the text can be read in two ways, or can't exist.
    ///
    /// The point of `3.600 rpm` separates thousands to half of Europe. `20/25 psi` is a range to whoever
    /// writes it, and a fraction to a program. A `gal` is a US gallon or an imperial one, which is a fifth
    /// larger, unless `gallons` in `shop.toml` says which. A negative clearance does not exist.
    ///
    /// ## At the bench
    ///
    /// Two people read two values.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// The pump delivers at 20/25 psi.
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the value in one of the ways that the finding gives.
    "unclear-value", Quantities, Error => pub(super) RULE
}

pub(super) const ON: &[On] = &[On::Text(check)];

fn check(scene: &TextScene<'_>, findings: &mut Findings) {
    for refused in &scene.refused {
        let is_reported = scene
            .field_error(refused.range.start)
            .is_some_and(|error| error.message() == refused.error.message());
        // In TOML, the quote after a number ends its text, and is no sign of inches.
        let text = scene.file.text.get(refused.range.clone());
        let is_quote = scene.procedure.is_none() && text.is_some_and(|text| text.ends_with('"'));
        if is_reported || is_quote {
            continue;
        }
        let span = scene.file.span(refused.range.clone());
        let finding = Finding::new(&RULE, refused.error.to_string()).primary(span, "");
        let help = refused.error.help();
        findings.push(finding.help(help.unwrap_or_else(|| {
            "write a value that can exist, and that can be read in one way".to_owned()
        })));
    }
}
