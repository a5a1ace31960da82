//! The rules that reading Markdown can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 3] = [&FIGURE_WITHOUT_TEXT, &UNKNOWN_VERB, &UNREAD_MARKDOWN];

rule! {
    /// A figure has no text that says what it shows.
    ///
    /// ## At the bench
    ///
    /// Somebody who can't see the figure, or whose print of it is smeared, is left with nothing.
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
    /// A misspelt `remov:` is a part that the rehearsal never sees come off.
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
    /// Use a verb of the format's list.
    "unknown-verb", Names, Error => pub(super) UNKNOWN_VERB
}

rule! {
    /// A piece of Markdown is of a sort that the sheets have no place for: HTML, a code block, a stray heading.
    ///
    /// ## At the bench
    ///
    /// What is not read is not printed, and nobody misses a line they never saw.
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
    "unread-markdown", Reading, Error => pub(crate) UNREAD_MARKDOWN
}
