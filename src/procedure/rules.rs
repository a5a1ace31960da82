//! The rules that reading Markdown sources can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 16] = [
    &ACTION_OUTSIDE_STEP,
    &CAUTION_WITHOUT_STEP,
    &EMPTY_STEP,
    &FIGURE_OUTSIDE_TREE,
    &HEADING_LEVEL,
    &LEFT_WITHOUT_REASON,
    &MISSING_FIGURE,
    &NOTHING_TO_DO,
    &NO_FRONT_MATTER,
    &QUOTE_WITHOUT_CAUTION,
    &SAME_ID_TWICE,
    &SAME_MACHINE_TWICE,
    &STEP_OUTSIDE_SECTION,
    &UNKNOWN_MARK,
    &UNKNOWN_PLACE,
    &UNKNOWN_THING,
];

rule! {
    /// An action stands in text that is no step.
    ///
    /// ## At the bench
    ///
    /// Text between steps is read or skipped; nobody ticks it. What has to be done is a step.
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
    /// A message after the last step is read when it is too late.
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
    /// Move it above the step that meets the hazard.
    "caution-without-step", Reading, Error => pub(super) CAUTION_WITHOUT_STEP
}

rule! {
    /// A step has no text.
    ///
    /// ## At the bench
    ///
    /// A numbered line that says nothing still has to be ticked.
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
    /// Say what is done, or take the number out.
    "empty-step", Reading, Error => pub(super) EMPTY_STEP
}

rule! {
    /// A heading is not a `##` heading, or stands inside a step.
    ///
    /// ## At the bench
    ///
    /// Sections are where a job may be left and is signed; they have one rank, so that nobody has to
    /// work out where one ends.
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
    /// Write it with `##`, outside any step; the title stands in the front matter.
    "heading-level", Reading, Error => pub(super) HEADING_LEVEL
}

rule! {
    /// A procedure's file does not begin with TOML between two `+++` lines.
    ///
    /// ## At the bench
    ///
    /// Without it nobody knows which machines the procedure is for.
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
    /// A block quote holds no caution.
    ///
    /// ## At the bench
    ///
    /// A warning in loose words has no signal word, no consequence and no way to stay clear of it.
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
    /// Write the message once in `cautions.toml` and name it: `> [](caution:sharp-edge)`.
    "quote-without-caution", Reading, Error => pub(super) QUOTE_WITHOUT_CAUTION
}

rule! {
    /// Two procedures in different folders have the same id.
    ///
    /// ## At the bench
    ///
    /// "Do the oil change" has to mean one thing.
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
    /// Give one of the files another name.
    "same-id-twice", Names, Error => pub(super) SAME_ID_TWICE
}

rule! {
    /// A step stands before the first heading.
    ///
    /// ## At the bench
    ///
    /// The text before the first heading says why; steps in it would be read as background.
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
    /// The braces at the end of a step or heading hold a mark that does not exist.
    ///
    /// ## At the bench
    ///
    /// A step with a misspelt `{if-fited}` would be demanded of a machine that has no such part.
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
    /// A step's marks are `{#id}`, `{if-fitted}` and `{only="machine-id"}`; a section's is `{.reverse}`.
    "unknown-mark", Reading, Error => pub(super) UNKNOWN_MARK
}

rule! {
    /// A thing is left undone on purpose, and no reason is given.
    ///
    /// ## At the bench
    ///
    /// Nobody can tell an exception from a mistake.
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
    /// Say why: `cover = "stays off for the paint to dry"`.
    "left-without-reason", Reading, Error => pub(super) LEFT_WITHOUT_REASON
}

rule! {
    /// A procedure has no steps, or a section has nothing in it.
    ///
    /// ## At the bench
    ///
    /// An empty sheet looks the same as nothing to do.
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
    /// Write the steps, or take the heading or the file out.
    "nothing-to-do", Reading, Error => pub(super) NOTHING_TO_DO
}

rule! {
    /// A procedure names a machine twice.
    ///
    /// ## At the bench
    ///
    /// The second was perhaps meant to be another.
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
    /// Take one out, or correct it.
    "same-machine-twice", Names, Error => pub(super) SAME_MACHINE_TWICE
}

rule! {
    /// A figure's path leads out of the tree.
    ///
    /// ## At the bench
    ///
    /// What stands outside the tree is not under review with it, and is not there on another machine.
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
    /// Copy the figure into `figures/` and name it from the procedure: `../figures/cover.svg`.
    "figure-outside-tree", Reading, Error => pub(super) FIGURE_OUTSIDE_TREE
}

rule! {
    /// A figure does not exist.
    ///
    /// ## At the bench
    ///
    /// "As in the figure" beside an empty frame.
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
    /// Add the file, or correct the path; it counts from the procedure's own folder.
    "missing-figure", Names, Error => pub(super) MISSING_FIGURE
}

rule! {
    /// A cross-reference leads nowhere, or to more than one step.
    ///
    /// ## At the bench
    ///
    /// "As in step 7" has to be step 7.
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
    "unknown-place", Names, Error => pub(crate) UNKNOWN_PLACE
}

rule! {
    /// An action, a list of machines or a caution names a thing that does not exist, or is of another kind than the verb takes.
    ///
    /// ## At the bench
    ///
    /// A step on a part that the machine doesn't have sends somebody looking for it.
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
    /// Correct the name, declare the thing, or end the step in `{if-fitted}` where only some machines have it.
    "unknown-thing", Names, Error => pub(crate) UNKNOWN_THING
}
