//! The rules that making jobs can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 5] = [
    &IMPOSSIBLE_FOLLOW_ON,
    &PROCEDURE_CYCLE,
    &MISPLACED_DO,
    &NOT_A_PAIR,
    &PROCEDURE_NOT_FOR_MACHINE,
];

rule! {
    /// Follow-on work can't follow: it is the procedure itself, part of its job, or for none of its machines.
    ///
    /// Procedures may follow each other in a circle.
    ///
    /// ## At the bench
    ///
    /// The sheet sends the mechanic to a job that does not exist for the machine, or that has just been done.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/cover.md
    /// +++
    /// title = "Cover"
    /// machines = ["hand-pump"]
    /// follow-on = ["cover"]
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
    /// Name a procedure that is done some time after this one, as a job of its own. What ends this job belongs in `finish`.
    "impossible-follow-on", Names, Error => pub(super) IMPOSSIBLE_FOLLOW_ON
}

rule! {
    /// Procedures include each other in a cycle, through `begin`, `finish` or `do`.
    ///
    /// A chain of more than 32 procedures that include each other is reported as well.
    ///
    /// ## At the bench
    ///
    /// Such a job would never end. No sheets are made for any procedure in the cycle.
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
    /// Remove one of the procedures from the other's `begin`, `finish` or `do`.
    "procedure-cycle", Names, Error => pub(super) PROCEDURE_CYCLE
}

rule! {
    /// A procedure reverses another, but the two are no pair.
    ///
    /// A pair is a procedure that takes parts off and one that puts them back. So a procedure can't reverse itself or one
    /// that reverses another, and on one machine only one procedure reverses another.
    ///
    /// ## At the bench
    ///
    /// Whoever finds the machine in pieces has to know which sheet puts it back.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/other.md
    /// +++
    /// title = "Other"
    /// machines = ["hand-pump"]
    /// reverses = "other"
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
    /// Name the procedure that takes off what this one puts back.
    "not-a-pair", Names, Error => pub(super) NOT_A_PAIR
}

rule! {
    /// A job includes a procedure that is not for the job's machine.
    ///
    /// ## At the bench
    ///
    /// Nobody has checked that its steps are right for this machine.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/foot-pump.toml
    /// name = "Tarn Reed foot pump"
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
    /// Add the machine to the included procedure's `machines` once its steps are right for it.
    "procedure-not-for-machine", Names, Error => pub(super) PROCEDURE_NOT_FOR_MACHINE
}

rule! {
    /// A `do:` shares its step with other content, or is in a derived section.
    ///
    /// ## At the bench
    ///
    /// The step is replaced by the steps of the named procedure, so any other content would be lost.
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
    /// Give the `do:` a step of its own, and put the rest in another step.
    "misplaced-do", Names, Error => pub(super) MISPLACED_DO
}
