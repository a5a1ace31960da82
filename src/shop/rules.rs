//! The rules that reading a shop's records can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 16] = [
    &CHAPTER_NOT_LISTED,
    &CONDITION_NAMED_AS_TIME,
    &CONFLICTING_FIELDS,
    &DANGER_NOT_NAMED,
    &ILL_FORMED_VALUE,
    &LEGEND_WITHOUT_PICTURE,
    &LIMITS_NOT_CALCULATED,
    &LISTED_TWICE,
    &UNKNOWN_CHOICE,
    &NO_SHOP_FILE,
    &RESERVED_ID,
    &ACTION_IN_TEXT_FIELD,
    &END_NOT_NAMED,
    &IMPOSSIBLE_ACTION,
    &TERM_NAMED_TWICE,
    &UNKNOWN_NAME,
];

rule! {
    /// Two fields of a record conflict, or give the same value twice.
    ///
    /// ## At the bench
    ///
    /// If one nut has two torques, one of them is wrong sooner or later.
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
    "conflicting-fields", Reading, Error => pub(super) CONFLICTING_FIELDS
}

rule! {
    /// A machine's id is the name of a folder that the output uses for something else.
    ///
    /// ## At the bench
    ///
    /// Two pages would have the same address, and one would overwrite the other.
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
    /// Rename the machine's file, for example after its make and model. `procedure`, `rules`, `site`,
    /// `system`, `figures`, `kits` and the shop's further languages are reserved.
    "reserved-id", Names, Error => pub(super) RESERVED_ID
}

rule! {
    /// A value can't be read as a number with its unit and limits, or is a quantity of the wrong kind.
    ///
    /// ## At the bench
    ///
    /// A guessed value is worse than none: `9 Nm-1`, `9,5 N·m` and `3,100 rpm` mean different things to
    /// different people.
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
    /// The limits of a reading can't be calculated: an input is unknown or missing, or there is no result for the values.
    ///
    /// ## At the bench
    ///
    /// The sheet would ask for a reading and not say what it has to be.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [reading.ring-gap]
    /// name = "end gap of the piston ring"
    /// [reading.ring-gap.calculated]
    /// calculation = "ring-gap"
    /// inputs = { boer = "66 mm" }
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the inputs of the calculation under their names, as `benchleaf calculate NAME --help` lists them. Limits with
    /// two bounds need an input with a tolerance.
    "limits-not-calculated", Quantities, Error => pub(super) LIMITS_NOT_CALCULATED
}

rule! {
    /// A field has a word that is not one of its choices.
    ///
    /// ## At the bench
    ///
    /// A caution with an unknown signal word would be printed with the wrong one.
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
    /// Use one of the words that the finding lists.
    "unknown-choice", Reading, Error => pub(super) UNKNOWN_CHOICE
}

rule! {
    /// The sources folder has no `shop.toml`.
    ///
    /// ## At the bench
    ///
    /// Every sheet carries the shop's name and notices, which are in this file.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === bare
    /// === machines/hand-pump.toml
    /// name = "Tarn Rush hand pump"
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
    /// A field that is printed but not rehearsed contains an action.
    ///
    /// ## At the bench
    ///
    /// The sheet would say that a tap is closed, but the rehearsal would still have it open.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [part.lid]
    /// name = "lid"
    /// [energy.spring]
    /// kind = "spring"
    /// endangers = ["lid"]
    /// isolate = "[Take the cover off](remove:cover) and let the spring out"
    /// prove = "The spring hangs loose"
    /// restore = "Wind the spring"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write it as plain text, and put the action in a step.
    "action-in-text-field", Names, Error => pub(super) ACTION_IN_TEXT_FIELD
}

rule! {
    /// A record refers to another record that does not exist.
    ///
    /// ## At the bench
    ///
    /// With a misspelt cover in `behind`, the rehearsal would let the part come off before its cover.
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
    /// Correct the name, or declare what it refers to.
    "unknown-name", Names, Error => pub(super) UNKNOWN_NAME
}

rule! {
    /// A condition does not say what ends it.
    ///
    /// Without `lost-by`, a condition that was confirmed once would hold for the rest of every job.
    ///
    /// ## At the bench
    ///
    /// The engine was cold when the job began. After the test run it is hot, and the tank is opened again.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [condition.dry]
    /// name = "dry inside"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the actions: `lost-by = ["run:engine"]`. If nothing in a job can end it, write `lost-by = "nothing"`.
    "end-not-named", Reading, Error => pub(super) END_NOT_NAMED
}

rule! {
    /// `lost-by` or `after` on a condition names an action that no step can perform.
    ///
    /// A caution, a reference and an included procedure are not performed. A condition can't come after its own
    /// confirmation, and can't be lost by it.
    ///
    /// ## At the bench
    ///
    /// The engine would still count as cold after it has run, because the entry that ends the condition has no
    /// effect.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [condition.dry]
    /// name = "dry inside"
    /// lost-by = ["caution:sharp-edge"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Name the action itself: `lost-by = ["run:engine"]`.
    "impossible-action", Names, Error => pub(super) IMPOSSIBLE_ACTION
}

rule! {
    /// An energy source does not say what it endangers.
    ///
    /// Ignition, electricity and motion endanger every part unless `endangers` names fewer. A spring, a pressure, heat,
    /// or a raised weight endangers only what the field names. An empty list names nothing.
    ///
    /// ## At the bench
    ///
    /// The starter housing comes off over a wound spring, and no step is reported.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [energy.spring-lever]
    /// name = "spring of the lever"
    /// kind = "spring"
    /// isolate = "Hook the lever down"
    /// prove = "Let go: the lever stays"
    /// restore = "Unhook the lever"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name everything that nobody may put hands on while it is live: `endangers = ["lever", "lever-bolt"]`.
    "danger-not-named", Reading, Error => pub(super) DANGER_NOT_NAMED
}

rule! {
    /// A name or a synonym in the glossary belongs to two terms, or is there twice.
    ///
    /// ## At the bench
    ///
    /// Somebody who searches for the word finds the wrong part.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === glossary.toml
    /// [term.piston]
    /// name = "piston"
    /// also = ["plunger"]
    /// means = "Moves up and down in the barrel and lifts the water."
    ///
    /// [term.plunger]
    /// name = "plunger"
    /// means = "A piston without a ring."
    /// ```
    ///
    /// ## Fix
    ///
    /// Keep it in one of them.
    "term-named-twice", Reading, Warning => pub(super) TERM_NAMED_TWICE
}

rule! {
    /// `chapters` in `shop.toml` gives the order of the chapters and leaves out a folder with procedures.
    ///
    /// ## At the bench
    ///
    /// Its chapter comes after all others, where nobody has decided to have it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === shop.toml
    /// name = "Elmbrook Tool Library, workshop"
    /// chapters = ["water"]
    /// [role.mechanic]
    /// name = "Mechanic"
    /// === water/other.md
    /// +++
    /// title = "Other"
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
    /// Name the folder in `chapters`, in its place.
    "chapter-not-listed", Names, Advice => pub(super) CHAPTER_NOT_LISTED
}

rule! {
    /// The order of the chapters, or of the procedures in a chapter, names something twice.
    ///
    /// ## At the bench
    ///
    /// It can only be read in one of the two places, and perhaps the other was meant to name something else.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === shop.toml
    /// name = "Elmbrook Tool Library, workshop"
    /// [role.mechanic]
    /// name = "Mechanic"
    /// [system.air]
    /// title = "Air"
    /// procedures = ["cover", "cover"]
    /// ```
    ///
    /// ## Fix
    ///
    /// Remove one of them, or correct it.
    "listed-twice", Names, Error => pub(super) LISTED_TWICE
}

rule! {
    /// The id of a condition can be read as a time to wait.
    ///
    /// ## At the bench
    ///
    /// `wait:5-min` would wait five minutes, or until the condition holds, and nobody could tell which.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + machines/hand-pump.toml
    /// [condition.5-min]
    /// name = "the primer has had five minutes to soak"
    /// lost-by = "nothing"
    /// ```
    ///
    /// ## Fix
    ///
    /// Name it after what holds: `[condition.soaked]`.
    "condition-named-as-time", Names, Error => pub(super) CONDITION_NAMED_AS_TIME
}

rule! {
    /// A legend in `figures` has no drawing or photograph beside it, or two.
    ///
    /// ## At the bench
    ///
    /// The steps have no picture, although somebody wrote down what is in it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === figures/pump.toml
    /// title = "Hand pump"
    /// machines = ["hand-pump"]
    /// [callout.cover]
    /// number = 1
    /// place = "cover"
    /// ```
    ///
    /// ## Fix
    ///
    /// Give the drawing and the legend the same name: `figures/pump.svg` and `figures/pump.toml`.
    "legend-without-picture", Names, Error => pub(super) LEGEND_WITHOUT_PICTURE
}
