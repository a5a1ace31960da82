//! Compares the titles of procedures.

use super::Procedure;
use crate::finding::{Finding, Findings, rule};
use foldhash::fast::FixedState;
use indexmap::IndexMap;

/// Reports the titles that two procedures for the same machine have.
pub(crate) fn report_duplicate_titles(procedures: &[Procedure], findings: &mut Findings) {
    let mut by_title: IndexMap<String, Vec<&Procedure>, FixedState> = IndexMap::default();
    for procedure in procedures.iter().filter(|procedure| procedure.is_complete) {
        let same = by_title
            .entry(procedure.title.value.to_lowercase())
            .or_default();
        let other = same.iter().find(|other| {
            let mut machines = procedure.machines.iter();
            machines.any(|machine| other.is_for(machine.value))
        });
        if let Some(other) = other {
            let message = format!(
                "`{}` and `{}` have the same title and are for the same machine",
                other.path, procedure.path
            );
            findings.push(
                Finding::new(&DUPLICATE_TITLE, message)
                    .primary(procedure.title.span, "")
                    .secondary(other.title.span, "the other title")
                    .help("say in the title what is different"),
            );
        }
        same.push(procedure);
    }
}

rule! {
    /// Two procedures or two fault tables for the same machine have the same title.
    ///
    /// ## At the bench
    ///
    /// In the list of a machine's jobs and on paper, nobody can tell them apart.
    ///
    /// ## Example
    ///
    /// ```tree
    /// === air/seal.md
    /// +++
    /// title = "Cover: clean"
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
    /// Say in the title what is different.
    "duplicate-title", Names, Advice => pub(super) DUPLICATE_TITLE
}
