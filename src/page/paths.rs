//! Where pages stand in the output of the first edition, and the anchors on them.

use super::LeafKind;

/// Where a job's leaf stands in the output of the first edition, without an ending.
#[must_use]
pub fn path(machine: &str, procedure: &str, kind: LeafKind) -> String {
    format!("{machine}/{procedure}-{}", kind.slug())
}

/// Where a machine's leaf stands in the output of the first edition, without an ending.
#[must_use]
pub fn machine_path(machine: &str, kind: LeafKind) -> String {
    format!("{machine}/{}", kind.slug())
}

/// Where a procedure's page lives in the first edition, without an ending.
#[must_use]
pub fn procedure_path(procedure: &str) -> String {
    format!("procedure/{procedure}")
}

/// The anchor of a machine's part of a procedure's page, which those of the places on it begin with.
/// No id has a dot in it, so that none of them can be another's.
#[must_use]
pub fn on_machine(machine: &str) -> String {
    format!("on.{machine}")
}

/// Where a machine's page lives in the first edition, without an ending.
#[must_use]
pub fn machine_page_path(machine: &str) -> String {
    format!("{machine}/index")
}

/// The lists of the shop's things, by their paths in the first edition, without an ending, and the
/// keys of their titles.
pub const LISTS: [(&str, &str); 4] = [
    ("cautions", "list-cautions"),
    ("tools", "list-tools"),
    ("supplies", "list-supplies"),
    ("glossary", "list-glossary"),
];
