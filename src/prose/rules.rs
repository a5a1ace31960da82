//! The rules that reading Markdown can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 3] = [&FIGURE_WITHOUT_TEXT, &UNKNOWN_VERB, &UNSUPPORTED_MARKDOWN];

rule! {
    /// A figure has no text that says what it shows.
    ///
    /// ## At the bench
    ///
    /// A mechanic who can't see the figure, or whose printout is smeared, has nothing to go by.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/cover.svg
    /// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8"/>
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. Look at [the cover](inspect:cover). ![](../figures/cover.svg)
    /// ```
    ///
    /// ## Fix
    ///
    /// Say in the brackets what the figure shows.
    "figure-without-text", Reading, Error => pub(super) FIGURE_WITHOUT_TEXT
}

rule! {
    /// A link has a scheme that is neither a verb nor a web address.
    ///
    /// ## At the bench
    ///
    /// With a misspelt `remov:`, the rehearsal does not know that the part comes off.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [Look at the cover](inspct:cover).
    /// ```
    ///
    /// ## Fix
    ///
    /// Use a verb from the format's list.
    "unknown-verb", Names, Error => pub(super) UNKNOWN_VERB
}

rule! {
    /// A piece of Markdown can't be printed on a sheet: HTML, a code block, a misplaced heading.
    ///
    /// ## At the bench
    ///
    /// It would be missing from the sheet, and nobody would notice.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [Look at the cover](inspect:cover).
    ///
    /// <b>Mind the spring.</b>
    /// ```
    ///
    /// ## Fix
    ///
    /// Write it as a paragraph, a list, a step or a `##` section.
    "unsupported-markdown", Reading, Error => pub(crate) UNSUPPORTED_MARKDOWN
}
