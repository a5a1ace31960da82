//! The order of the procedures in the manual and on the site.

use crate::sheet::Summary;
use std::collections::BTreeMap;

/// The procedures in the manual's order, each with its jobs, and the jobs of each machine in the same
/// order.
#[derive(Debug)]
pub(crate) struct ManualOrder<'s, 'a> {
    /// By system and title; the jobs by machine.
    pub(crate) procedures: Vec<Vec<&'s Summary<'a>>>,
    of_machine: BTreeMap<&'s str, Vec<&'s Summary<'a>>>,
    /// For each job in `procedures`, its index in its machine's list.
    positions: Vec<Vec<usize>>,
}

impl<'s, 'a> ManualOrder<'s, 'a> {
    pub(super) fn new(procedures: Vec<Vec<&'s Summary<'a>>>) -> ManualOrder<'s, 'a> {
        let mut of_machine: BTreeMap<&str, Vec<&Summary<'_>>> = BTreeMap::new();
        let mut position = |job: &&'s Summary<'a>| {
            let jobs = of_machine.entry(&job.machine.id).or_default();
            jobs.push(job);
            jobs.len() - 1
        };
        let positions = procedures
            .iter()
            .map(|jobs| jobs.iter().map(&mut position).collect())
            .collect();
        ManualOrder {
            procedures,
            of_machine,
            positions,
        }
    }

    /// The jobs of a machine, by system and title.
    pub(crate) fn of_machine(&self, machine: &str) -> &[&'s Summary<'a>] {
        self.of_machine.get(machine).map_or(&[], Vec::as_slice)
    }

    /// The jobs before and after a job on the same machine. The job is the one at `machine_index` of
    /// the procedure at `index`.
    pub(super) fn neighbours(
        &self,
        index: usize,
        machine_index: usize,
    ) -> (Option<&'s Summary<'a>>, Option<&'s Summary<'a>>) {
        let machine = self.procedures[index][machine_index].machine.id.as_str();
        let jobs = self.of_machine(machine);
        let position = self.positions[index][machine_index];
        let at = |position: Option<usize>| jobs.get(position?).copied();
        (at(position.checked_sub(1)), at(Some(position + 1)))
    }
}
