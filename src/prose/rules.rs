//! The rules that reading Markdown can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 6] = [
    &FIGURE_WITHOUT_TEXT,
    &RELATIVE_LINK,
    &SPACE_IN_ADDRESS,
    &UNKNOWN_VERB,
    &UNREAD_LINK,
    &UNSUPPORTED_MARKDOWN,
];

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
    /// The address of a link is neither an action nor a web address.
    ///
    /// ## At the bench
    ///
    /// `[Take off the nut](nut)` reads like a step, but nothing in it says that the nut comes off. On paper, a link
    /// to a file leads nowhere.
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
    /// 1. [Brush the cover](clean:cover), and [inspect it](cover).
    /// ```
    ///
    /// ## Fix
    ///
    /// Begin the address with a verb, `inspect:cover`, or refer to the place: `see:procedure/ID`, `see:step/ID`.
    "relative-link", Names, Error => pub(super) RELATIVE_LINK
}

rule! {
    /// The address of a link or figure contains a space, so it is not read as a link.
    ///
    /// ## At the bench
    ///
    /// The sheet prints the brackets as typed. The action in them is not rehearsed, or the drawing is
    /// missing.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/look.md
    /// +++
    /// title = "Look at the cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Dust wears the plunger.
    ///
    /// ## Look
    ///
    /// 1. Look at the cover, as in [the other job](see: procedure/cover).
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove the space. If a figure's file name contains one, put the path between angle brackets:
    /// `![the seal](<../figures/the seal.svg>)`.
    "space-in-address", Reading, Error => pub(super) SPACE_IN_ADDRESS
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
    /// Text looks like a link or an action, but is not read as one.
    ///
    /// This finds addresses with no closing parenthesis, with a space before them, in the wrong brackets, without
    /// brackets or in backticks; links inside links and in the text of a figure; and link definitions that no link
    /// uses.
    ///
    /// ## At the bench
    ///
    /// The sheet prints brackets and addresses as typed, or nothing. The rehearsal does not know that the step does
    /// anything.
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
    /// 1. [Look at the cover](inspect:cover), and [clean it] (clean:cover).
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the text in square brackets and the address directly after it in parentheses: `[clean it](clean:cover)`.
    /// To print a colon that is not part of an address, write `\:`.
    "unread-link", Reading, Error => pub(crate) UNREAD_LINK
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
