//! The rules that reading TOML can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 5] = [
    &BROKEN_TOML,
    &ILL_FORMED_ID,
    &MISSING_FIELD,
    &UNKNOWN_KEY,
    &WRONG_TYPE,
];

rule! {
    /// A file's TOML does not parse.
    ///
    /// ## At the bench
    ///
    /// Half a machine would give half a sheet. Nothing is printed from the file until it can be read;
    /// everything else in the tree is still checked.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.wrench-13
    /// name = "13 mm wrench"
    /// ```
    ///
    /// ## Fix
    ///
    /// Look at the marked place and the line above it: a quote, bracket or equals sign is missing.
    "broken-toml", Reading, Error => pub(super) BROKEN_TOML
}

rule! {
    /// An id has capitals, spaces or other characters that an id can't have.
    ///
    /// ## At the bench
    ///
    /// Ids are typed into links by hand and become file names; one spelling for each keeps both right
    /// on every machine.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.Wrench_13]
    /// name = "13 mm wrench"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write lower-case words and digits joined by hyphens: `wrench-13`.
    "ill-formed-id", Reading, Error => pub(super) ILL_FORMED_ID
}

rule! {
    /// A record lacks a field that it has to have, or the field is empty.
    ///
    /// ## At the bench
    ///
    /// An isolation without its proof, or a part without a name, leaves a hole in the sheet just where
    /// somebody looks.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.wrench-13]
    /// size = "13 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Write the field.
    "missing-field", Reading, Error => pub(super) MISSING_FIELD
}

rule! {
    /// A record has a field that its kind doesn't have.
    ///
    /// ## At the bench
    ///
    /// A misspelt `torqe` is a fastener without a torque, and the sheet would say nothing of it.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.wrench-13]
    /// name = "13 mm wrench"
    /// sise = "13 mm"
    /// ```
    ///
    /// ## Fix
    ///
    /// Correct the spelling, or take the field out.
    "unknown-key", Reading, Error => pub(super) UNKNOWN_KEY
}

rule! {
    /// A field holds another type of thing than it should.
    ///
    /// ## At the bench
    ///
    /// `torque = 9` does not say nine of what.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === + tools.toml
    /// [tool.wrench-13]
    /// name = 13
    /// ```
    ///
    /// ## Fix
    ///
    /// Write it in the form the help names; a value is text with its unit, `"9 N·m"`.
    "wrong-type", Reading, Error => pub(super) WRONG_TYPE
}
