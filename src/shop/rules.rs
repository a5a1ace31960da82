//! The rules that reading a shop's records can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 7] = [
    &CONTRADICTING_FIELDS,
    &ILL_FORMED_VALUE,
    &NOT_A_CHOICE,
    &NO_SHOP_FILE,
    &RESERVED_ID,
    &STRAY_ACTION,
    &UNKNOWN_NAME,
];

rule! {
    /// Two fields of a record say the same thing in two ways.
    ///
    /// ## At the bench
    ///
    /// Of two torques for one nut, one is wrong sooner or later.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-nut]
    /// name = "lid nut"
    /// torque = "9 N·m"
    /// stages = ["5 N·m", "9 N·m"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Keep one of them.
    "contradicting-fields", Reading, Error => pub(super) CONTRADICTING_FIELDS
}

rule! {
    /// A machine's id is the name of a folder that the output needs for something else.
    ///
    /// ## At the bench
    ///
    /// Two pages would stand at one address, and whoever opens it would read the wrong one.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === machines/site.toml
    /// name = "Site pump"
    /// basis = "measured on our own pump, March 2026"
    /// ```
    ///
    /// ## Fix
    ///
    /// Give the machine's file another name, such as that of its make and model. `procedure`, `site`,
    /// `figures`, `kits` and the shop's further languages are taken.
    "reserved-id", Names, Error => pub(super) RESERVED_ID
}

rule! {
    /// A value can't be read as a number with its unit and limits, or is of another kind than it should be.
    ///
    /// ## At the bench
    ///
    /// A value that is guessed at is worse than none: `9 Nm-1`, `9,5 N·m` and `3,100 rpm` each mean
    /// different things to different people.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid-nut]
    /// name = "lid nut"
    /// torque = "9,5 N·m"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write a decimal point, a unit and limits: `9.5 N·m ± 0.5 N·m`, `8 to 10 N·m`, `at least 15 bar`.
    "ill-formed-value", Quantities, Error => pub(super) ILL_FORMED_VALUE
}

rule! {
    /// A field holds a word that is not one of those it can hold.
    ///
    /// ## At the bench
    ///
    /// A caution with an unknown signal word would be printed with a wrong one.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + cautions.toml
    /// [caution.spring]
    /// signal-word = "beware"
    /// hazard = "The spring flies out"
    /// consequence = "It can hurt an eye"
    /// avoid = "Wear eye protection"
    /// ```
    ///
    /// ## Fix
    ///
    /// Use one of the words that the help lists.
    "not-a-choice", Reading, Error => pub(super) NOT_A_CHOICE
}

rule! {
    /// A tree has no `shop.toml`.
    ///
    /// ## At the bench
    ///
    /// A sheet has to say whose it is, and the shop's own notices stand there.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === bare
    /// === machines/hand-pump.toml
    /// name = "Tarn H1 hand pump"
    /// [part.cover]
    /// name = "cover"
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
    /// ```
    ///
    /// ## Fix
    ///
    /// Write `shop.toml` with at least `name`.
    "no-shop-file", Reading, Error => pub(super) NO_SHOP_FILE
}

rule! {
    /// An action stands in a field that is printed but never rehearsed.
    ///
    /// ## At the bench
    ///
    /// The sheet would say that a tap is closed, and the rehearsal would not know it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [energy.spring]
    /// isolate = "[Take the cover off](remove:cover) and let the spring out"
    /// prove = "The spring hangs loose"
    /// restore = "Wind the spring"
    /// ```
    ///
    /// ## Fix
    ///
    /// Say it in words, and do it in a step.
    "stray-action", Names, Error => pub(super) STRAY_ACTION
}

rule! {
    /// A record names another that does not exist.
    ///
    /// ## At the bench
    ///
    /// A part behind a misspelt cover is a part behind nothing: the rehearsal would let it come off first.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.valve-plate]
    /// name = "valve plate"
    /// behind = ["covr"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the name, or declare what it names.
    "unknown-name", Names, Error => pub(super) UNKNOWN_NAME
}
