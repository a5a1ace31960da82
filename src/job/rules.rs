//! The rules that making jobs can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 3] = [&CIRCLE_OF_PROCEDURES, &DO_NOT_ALONE, &NOT_FOR_MACHINE];

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
    /// ## Fix
    ///
    /// Take one of them out of the other's `begin`, `finish` or `do`.
    "circle-of-procedures", Names, Error => pub(super) CIRCLE_OF_PROCEDURES
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
    /// ## Fix
    ///
    /// Add the machine to the part's `machines` once its steps are right for it.
    "not-for-machine", Names, Error => pub(super) NOT_FOR_MACHINE
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
    /// ## Fix
    ///
    /// Give the `do:` a step of its own, and the rest another.
    "do-not-alone", Names, Error => pub(super) DO_NOT_ALONE
}
