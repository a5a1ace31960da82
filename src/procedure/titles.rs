//! Compares the titles of procedures.

use super::{Procedure, rules};
use crate::finding::{Finding, Findings};
use foldhash::fast::FixedState;
use indexmap::IndexMap;

/// Reports the titles that two procedures for the same machine have.
pub(super) fn report_duplicate_titles(procedures: &[Procedure], findings: &mut Findings) {
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
                Finding::new(&rules::DUPLICATE_TITLE, message)
                    .primary(procedure.title.span, "")
                    .secondary(other.title.span, "the other title")
                    .help("say in the title what is different"),
            );
        }
        same.push(procedure);
    }
}
