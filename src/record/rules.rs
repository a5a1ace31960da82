//! The rules that reading TOML can report.

use crate::finding::{Rule, rule};

pub(crate) static RULES: [&Rule; 5] = [
    &BROKEN_TOML,
    &ILL_FORMED_ID,
    &MISSING_FIELD,
    &UNKNOWN_FIELD,
    &WRONG_TYPE,
];

rule! {
    /// A file's TOML does not parse.
    ///
    /// ## At the bench
    ///
    /// Half a machine would give half a sheet. Nothing is printed from the file until it can be read;
    /// the other files are still checked.
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
    /// Look at the marked place and the line above it: usually a quote, bracket or equals sign is
    /// missing.
    "broken-toml", Reading, Error => pub(super) BROKEN_TOML
}

rule! {
    /// An id contains capitals, spaces or other characters that are not allowed.
    ///
    /// The id of a procedure or a machine, and the folder of a system, can't be the name of a device either, such as
    /// `con`, `nul` or `com1`: some systems have no files of these names.
    ///
    /// ## At the bench
    ///
    /// Ids are typed into links by hand and become file names. Some computers distinguish
    /// capitals in file names and some do not.
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
    /// A record lacks a required field, or a field is an empty text or list.
    ///
    /// ## At the bench
    ///
    /// An isolation without its proof, or a part without a name, leaves a gap in the sheet.
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
    /// A record has a field that its kind does not have.
    ///
    /// ## At the bench
    ///
    /// With a misspelt `torqe`, the fastener has no torque, and the sheet gives none.
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
    /// Correct the spelling, or remove the field.
    "unknown-field", Reading, Error => pub(super) UNKNOWN_FIELD
}

rule! {
    /// A field has a value of the wrong type.
    ///
    /// ## At the bench
    ///
    /// `torque = 9` does not give a unit.
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
    /// Write it in the form that the finding names. A value is text with its unit: `"9 N·m"`.
    "wrong-type", Reading, Error => pub(super) WRONG_TYPE
}
