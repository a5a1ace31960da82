//! The rules that reading Markdown sources can report.

use super::titles::DUPLICATE_TITLE;
use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 19] = [
    &ACTION_OUTSIDE_STEP,
    &CAUTION_WITHOUT_STEP,
    &EMPTY_STEP,
    &FIGURE_OUTSIDE_SOURCES,
    &WRONG_HEADING_LEVEL,
    &LEFT_UNDONE_WITHOUT_REASON,
    &MISSING_FIGURE,
    &NO_STEPS,
    &NO_FRONT_MATTER,
    &NOTE_WITH_SIGNAL_WORD,
    &QUOTE_WITHOUT_CAUTION,
    &DUPLICATE_ID,
    &DUPLICATE_MACHINE,
    &DUPLICATE_TITLE,
    &STEP_OUTSIDE_SECTION,
    &UNKNOWN_MARK,
    &UNRESOLVED_REFERENCE,
    &UNKNOWN_THING,
    &UNUSED_FIGURE,
];

rule! {
    /// An action is outside a step.
    ///
    /// ## At the bench
    ///
    /// Text between steps is easily skipped, and nobody ticks it. What has to be done must be a step.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out. First [look at the cover](inspect:cover).
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Make it an item of a numbered list under a `##` heading.
    "action-outside-step", Names, Error => pub(super) ACTION_OUTSIDE_STEP
}

rule! {
    /// A caution has no step below it.
    ///
    /// ## At the bench
    ///
    /// A safety message after the last step is read too late.
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
    /// 1. [](clean:cover)
    ///
    /// > [](caution:sharp-edge)
    /// ```
    ///
    /// ## Fix
    ///
    /// Move it above the step that has the hazard.
    "caution-without-step", Reading, Error => pub(super) CAUTION_WITHOUT_STEP
}

rule! {
    /// A step has no text.
    ///
    /// ## At the bench
    ///
    /// A numbered line without text still has to be ticked.
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
    /// 1. [](clean:cover)
    /// 2.
    /// ```
    ///
    /// ## Fix
    ///
    /// Say what is done, or remove the number.
    "empty-step", Reading, Error => pub(super) EMPTY_STEP
}

rule! {
    /// A heading is not a `##` heading, or is inside a step.
    ///
    /// ## At the bench
    ///
    /// A job can be interrupted and signed at the end of a section. All sections have the same level,
    /// so that it is clear where each ends.
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
    /// ### Look
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write it with `##`, outside any step. The title belongs in the front matter.
    "wrong-heading-level", Reading, Error => pub(super) WRONG_HEADING_LEVEL
}

rule! {
    /// A procedure's file does not begin with TOML between two `+++` lines.
    ///
    /// ## At the bench
    ///
    /// Without it, the procedure belongs to no machine and no sheet can be made.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// # Cover
    ///
    /// Keeps grit out.
    /// ```
    ///
    /// ## Fix
    ///
    /// Begin the file with `+++`, `title`, `machines` and `+++`, each on a line of its own.
    "no-front-matter", Reading, Error => pub(super) NO_FRONT_MATTER
}

rule! {
    /// A note begins with a signal word.
    ///
    /// ## At the bench
    ///
    /// A note is printed without colour, symbol and sign, because it is about no hazard. A warning that looks like one is
    /// read too late.
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
    /// > Note: Warning! The edge is sharp.
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the message once in `cautions.toml` and name it in the place of the note: `> [](caution:sharp-edge)`.
    "note-with-signal-word", Reading, Error => pub(super) NOTE_WITH_SIGNAL_WORD
}

rule! {
    /// A block quote contains neither a caution nor a note, or both.
    ///
    /// ## At the bench
    ///
    /// A warning in free text has no signal word, does not state the consequence and does not say how
    /// to avoid the hazard. Beside a note, it is taken for one.
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
    /// > Mind your fingers!
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// If it is about a hazard, write the message once in `cautions.toml` and name it here:
    /// `> [](caution:sharp-edge)`. Other information is a note and begins with this word:
    /// `> Note: The cover may stay on its chain.` Each has a block quote of its own.
    "quote-without-caution", Reading, Error => pub(super) QUOTE_WITHOUT_CAUTION
}

rule! {
    /// Two procedures in different folders have the same id.
    ///
    /// ## At the bench
    ///
    /// "Do the oil change" must mean one procedure.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === water/cover.md
    /// +++
    /// title = "Cover of the pump"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](inspect:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Rename one of the files.
    "duplicate-id", Names, Error => pub(super) DUPLICATE_ID
}

rule! {
    /// A step comes before the first heading.
    ///
    /// ## At the bench
    ///
    /// The text before the first heading gives the reason for the job; a step there would be read as
    /// background.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// +++
    /// 1. [](clean:cover)
    ///
    /// ## Look
    ///
    /// 1. [](inspect:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Write a `##` heading above it.
    "step-outside-section", Reading, Error => pub(super) STEP_OUTSIDE_SECTION
}

rule! {
    /// The braces at the end of a step or heading contain a mark that does not exist.
    ///
    /// ## At the bench
    ///
    /// With a misspelt `{if-fited}`, the step would be required on a machine that has no such part.
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
    /// 1. [](clean:cover) {if-fited}
    /// ```
    ///
    /// ## Fix
    ///
    /// A step's marks are `{#id}`, `{if="thing.outcome"}`, `{if-fitted}`, `{only="machine-id"}`, `{waive="rule: why"}` and,
    /// together, `{until="thing.outcome" back-to="id" at-most="3"}`; a section's mark is `{.reverse}`.
    "unknown-mark", Reading, Error => pub(super) UNKNOWN_MARK
}

rule! {
    /// Something is left undone intentionally, but no reason is given.
    ///
    /// ## At the bench
    ///
    /// Without a reason, an exception looks the same as a mistake.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// [left-undone]
    /// cover = ""
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Give the reason: `cover = "stays off for the paint to dry"`.
    "left-undone-without-reason", Reading, Error => pub(super) LEFT_UNDONE_WITHOUT_REASON
}

rule! {
    /// A procedure has no steps, or a section is empty.
    ///
    /// ## At the bench
    ///
    /// An empty sheet looks like a job with nothing to do.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the steps, or remove the heading or the file.
    "no-steps", Reading, Error => pub(super) NO_STEPS
}

rule! {
    /// A procedure lists the same machine twice.
    ///
    /// ## At the bench
    ///
    /// Perhaps the second entry was meant to be another machine.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump", "hand-pump"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover)
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove one of them, or correct it.
    "duplicate-machine", Names, Error => pub(super) DUPLICATE_MACHINE
}

rule! {
    /// A figure's path leads outside the sources folder.
    ///
    /// ## At the bench
    ///
    /// A file outside the folder is not reviewed with the sources, and is missing on another computer.
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
    /// 1. [](clean:cover) ![the cover](../../elsewhere/cover.svg)
    /// ```
    ///
    /// ## Fix
    ///
    /// Copy the figure into `figures/` and refer to it from the procedure: `../figures/cover.svg`.
    "figure-outside-sources", Reading, Error => pub(super) FIGURE_OUTSIDE_SOURCES
}

rule! {
    /// A figure does not exist.
    ///
    /// ## At the bench
    ///
    /// The sheet says "as in the figure" beside an empty frame.
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
    /// 1. [](clean:cover) ![the cover](../figures/cover.svg)
    /// ```
    ///
    /// ## Fix
    ///
    /// Add the file, or correct the path. The path is relative to the procedure's folder. That of a machine's
    /// `picture` begins with `figures/`.
    "missing-figure", Names, Error => pub(super) MISSING_FIGURE
}

rule! {
    /// A cross-reference has no target, or matches more than one step.
    ///
    /// ## At the bench
    ///
    /// "As in step 7" must lead to the right step.
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
    /// 1. [](clean:cover), as in [](see:step/remove/cover).
    /// ```
    ///
    /// ## Fix
    ///
    /// Name a step of the job by its id or by what it does.
    "unresolved-reference", Names, Error => pub(crate) UNRESOLVED_REFERENCE
}

rule! {
    /// An action, a list of machines or a caution names a thing that does not exist, or one of the wrong kind.
    ///
    /// ## At the bench
    ///
    /// A step on a part that the machine does not have sends somebody looking for it.
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
    /// 1. [](clean:covr)
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the name, declare the thing, or mark the step `{if-fitted}` if only some machines have
    /// it.
    "unknown-thing", Names, Error => pub(crate) UNKNOWN_THING
}

rule! {
    /// No page shows a figure.
    ///
    /// A figure is shown by a step or a section, as the `picture` or the `wiring` of a machine, or if it has a legend, in the
    /// steps that touch what it has numbers for and in the parts list of its machines.
    ///
    /// ## At the bench
    ///
    /// Somebody drew it because a step needs it, and the step is read without it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/cover.svg
    /// <svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30"><path d="M5 5h30v20h-30z"/></svg>
    /// ```
    ///
    /// ## Fix
    ///
    /// Show it in a step, give it a legend, a `.toml` file of the same name beside it, or remove it.
    "unused-figure", Names, Advice => pub(super) UNUSED_FIGURE
}
