//! Which sheets a run makes.

use crate::page::SheetKind;

/// Which sheets a run makes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Selection {
    /// Only of these procedures; of all where it is empty.
    pub(crate) procedures: Vec<String>,
    /// Only of these machines; of all where it is empty.
    pub(crate) machines: Vec<String>,
    /// Only of these kinds; of all where it is empty.
    pub(crate) kinds: Vec<SheetKind>,
}

impl Selection {
    /// Whether all sheets are selected, so that files that are no longer made can be removed.
    #[must_use]
    pub(crate) fn is_whole(&self) -> bool {
        self.procedures.is_empty() && self.machines.is_empty() && self.kinds.is_empty()
    }

    /// Whether a job is selected.
    #[must_use]
    pub(crate) fn takes(&self, job: &crate::job::Job<'_>) -> bool {
        let among = |ids: &[String], id: &String| ids.is_empty() || ids.contains(id);
        among(&self.procedures, &job.procedure.id) && among(&self.machines, &job.machine.id)
    }

    pub(super) fn kinds(&self) -> Vec<SheetKind> {
        let all = SheetKind::ALL.into_iter();
        all.filter(|kind| self.kinds.is_empty() || self.kinds.contains(kind))
            .collect()
    }
}
