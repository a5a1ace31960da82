//! The rules of making jobs.

use crate::finding::{Rule, rule};

/// All of them.
pub static RULES: [&Rule; 7] = [
    &CIRCLE_OF_PROCEDURES,
    &DO_NOT_ALONE,
    &FIGURE_OUTSIDE_TREE,
    &MISSING_FIGURE,
    &NOT_FOR_MACHINE,
    &UNKNOWN_PLACE,
    &UNKNOWN_THING,
];

rule! {
    /// Procedures ask for each other in a circle, by `begin`, `finish` or `do`.
    ///
    /// ## At the bench
    ///
    /// Such a job would never end. None is made of any procedure in the circle.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// begin = ["plate"]
    /// +++
    /// Keeps grit out.
    ///
    /// ## Look
    ///
    /// 1. [](clean:cover)
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["hand-pump"]
    /// begin = ["cover"]
    /// +++
    /// Keeps water in.
    ///
    /// ## Look
    ///
    /// 1. [](inspect:cover)
    /// ```
    ///
    /// ## Mend
    ///
    /// Take one of them out of the other's `begin`, `finish` or `do`.
    "circle-of-procedures", Names, Error => pub(super) CIRCLE_OF_PROCEDURES
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
    /// ## Mend
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
    /// ## Mend
    ///
    /// Add the file, or correct the path; it counts from the procedure's own folder.
    "missing-figure", Names, Error => pub(super) MISSING_FIGURE
}

rule! {
    /// A procedure is part of a job on a machine that it is not for.
    ///
    /// ## At the bench
    ///
    /// Nobody has looked whether its steps are right for this machine.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/foot-pump.toml
    /// name = "Tarn F1 foot pump"
    /// basis = "invented"
    /// [part.cover]
    /// name = "cover"
    /// === air/plate.md
    /// +++
    /// title = "Valve plate"
    /// machines = ["foot-pump"]
    /// begin = ["cover"]
    /// +++
    /// Keeps water in.
    ///
    /// ## Look
    ///
    /// 1. [](inspect:cover)
    /// ```
    ///
    /// ## Mend
    ///
    /// Add the machine to the part's `machines` once its steps are right for it.
    "not-for-machine", Names, Error => pub(super) NOT_FOR_MACHINE
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
    /// ## Mend
    ///
    /// Name a step of the job by its id or by what it does.
    "unknown-place", Names, Error => pub(super) UNKNOWN_PLACE
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
    /// ## Mend
    ///
    /// Correct the name, declare the thing, or end the step in `{if-fitted}` where only some machines have it.
    "unknown-thing", Names, Error => pub(super) UNKNOWN_THING
}

rule! {
    /// A `do:` shares its step with something else, or stands in a way back that is derived.
    ///
    /// ## At the bench
    ///
    /// The step gives way to the procedure that is done; whatever else it says would be lost.
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
    ///
    /// 1. First jack it up, then [](do:cover).
    /// ```
    ///
    /// ## Mend
    ///
    /// Give the `do:` a step of its own, and the rest another.
    "do-not-alone", Names, Error => pub(super) DO_NOT_ALONE
}
