//! Selects the sheets that a run makes.

use crate::page::SheetKind;
use crate::trade::Day;

/// The sheets that a run makes. By default, all of them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Selection {
    /// Procedure ids. Empty for all procedures.
    pub(crate) procedures: Vec<String>,
    /// Machine ids. Empty for all machines.
    pub(crate) machines: Vec<String>,
    /// Empty for all kinds.
    pub(crate) kinds: Vec<SheetKind>,
    /// Whether the manual of the whole shop has the reference of the rules as an appendix.
    pub(crate) rules_appendix: bool,
    /// The day for which interval charts say what is due, from the shop's log. Without it, they do not.
    pub(crate) on: Option<Day>,
}

impl Selection {
    /// Whether all sheets are selected. Only then can files that are no longer made be removed.
    #[must_use]
    pub(crate) fn is_whole(&self) -> bool {
        self.procedures.is_empty() && self.machines.is_empty() && self.kinds.is_empty()
    }

    #[must_use]
    pub(crate) fn includes(&self, job: &crate::job::Job<'_>) -> bool {
        let is_selected = |ids: &[String], id: &String| ids.is_empty() || ids.contains(id);
        is_selected(&self.procedures, &job.procedure.id)
            && is_selected(&self.machines, &job.machine.id)
    }

    pub(super) fn kinds(&self) -> Vec<SheetKind> {
        let kinds = SheetKind::ALL.into_iter();
        kinds
            .filter(|kind| self.kinds.is_empty() || self.kinds.contains(kind))
            .collect()
    }
}
