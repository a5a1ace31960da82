//! Jobs of a procedure, made for one request.

use crate::Sources;
use crate::finding::Findings;
use crate::job::{self, Job, Made};
use crate::procedure::Procedure;
use crate::shop::Machine;

/// Makes the job of a procedure or fault table on some of its machines, and passes each to `take`. Machines on which there
/// is no job are left out.
pub(super) fn with_jobs<T>(
    sources: &Sources,
    procedure: &Procedure,
    machines: &[&Machine],
    mut take: impl FnMut(&Job<'_>) -> T,
) -> Vec<T> {
    let Sources {
        tree,
        shop,
        procedures,
        faults,
        ..
    } = sources;
    job::with_factory(tree, shop, procedures, faults, |factory| {
        // A procedure that includes itself would have no end.
        let (procedures, faults) = factory.makeable(&mut Findings::default());
        let mut makeable = procedures.into_iter().chain(faults);
        let Some(procedure) = makeable.find(|other| other.file == procedure.file) else {
            return Vec::new();
        };
        let machines = machines.iter().map(|machine| &shop.machines[machine.index]);
        machines
            .map(|machine| {
                let Made { job, .. } = factory.make(procedure, machine);
                take(&job)
            })
            .collect()
    })
}

/// The machines of a procedure for which a condition holds, in its order.
pub(super) fn machines<'s>(
    sources: &'s Sources,
    procedure: &Procedure,
    is_wanted: impl Fn(&Machine) -> bool,
) -> Vec<&'s Machine> {
    let machines = procedure.machines.iter();
    let machines = machines.map(|id| &sources.shop.machines[id.value]);
    machines.filter(|machine| is_wanted(machine)).collect()
}

/// Groups what several machines have: each value with the machines that have it, in order.
pub(super) fn grouped<'m, T: PartialEq>(
    values: impl IntoIterator<Item = (&'m Machine, T)>,
) -> Vec<(Vec<&'m Machine>, T)> {
    let mut groups: Vec<(Vec<&'m Machine>, T)> = Vec::new();
    for (machine, value) in values {
        match groups.iter_mut().find(|(_, known)| *known == value) {
            Some((machines, _)) => machines.push(machine),
            None => groups.push((vec![machine], value)),
        }
    }
    groups
}

/// The names of machines: "Tarn Sedge, Tarn Yarrow".
pub(super) fn names_of(machines: &[&Machine]) -> String {
    let names: Vec<&str> = machines
        .iter()
        .map(|machine| machine.name.value.as_str())
        .collect();
    names.join(", ")
}
